"""The kernel's log of a bench, opened: its own file, else the journal, else why neither."""

from __future__ import annotations

from typing import Protocol

from burnin.card.file_errors import why_unread
from burnin.card.files import BenchFiles, OpensRecords
from burnin.card.kernel_log.journal import open_journal
from burnin.card.kernel_log.kmsg import PATH, Kmsg
from burnin.card.kernel_log.meanings import KernelReason
from burnin.card.kernel_log.records import KernelRecord
from burnin.core.meaning import Source
from burnin.core.reading import NotMeasured


class KernelLog(Protocol):
    """What the kernel says from the moment of opening on; `lost` counts records never read."""

    @property
    def lost(self) -> int:
        """Records that were overwritten before they were read."""
        ...

    def read(self) -> tuple[KernelRecord, ...]:
        """Records since the last call, oldest first; never waits. Raises OSError."""
        ...

    def source(self) -> Source:
        """How it is read."""
        ...

    def close(self) -> None:
        """Read it no longer."""
        ...


def open_kernel_log(files: BenchFiles, *, this_machine: bool) -> KernelLog | NotMeasured:
    """The log of the bench behind `files`, from now on; the journal only of this very machine."""
    if not isinstance(files, OpensRecords):
        return NotMeasured(KernelReason.NOT_THIS_MACHINE())
    try:
        return Kmsg(files.open_records(PATH))
    except OSError as error:
        unread = why_unread(error, PATH)
    if not this_machine:
        return unread
    journal = open_journal()
    if isinstance(journal, NotMeasured):
        reasons = (unread.reason, journal.reason)
        return NotMeasured(KernelReason.LOG_UNREADABLE(reasons=reasons))
    return journal
