"""The kernel's log read through the journal of this machine, where its own file is not for us.

``journalctl`` follows it in a process of its own and ends when nobody reads it any more; its JSON
format is the journal's export format (systemd, "Journal JSON Format").
"""

from __future__ import annotations

import contextlib
import json
import os
import shutil
import subprocess

from burnin.card.kernel_log.meanings import KernelReason, KernelSource
from burnin.card.kernel_log.records import KernelRecord, clean
from burnin.core.files.open_flags import never_waits
from burnin.core.meaning import Source
from burnin.core.reading import NotMeasured

_PROBE_S = 5.0
_NOTICE = 5  # KERN_NOTICE, where the journal tells no priority


def record_from(line: bytes) -> KernelRecord | None:
    """An entry of the journal as a record; None where it is none."""
    try:
        entry = json.loads(line)
    except (ValueError, RecursionError):
        return None
    if not isinstance(entry, dict):
        return None
    message, priority = entry.get("MESSAGE"), str(entry.get("PRIORITY", _NOTICE))
    if isinstance(message, list) and all(isinstance(b, int) and 0 <= b < 256 for b in message):
        message = bytes(message).decode("utf-8", errors="replace")
    if not isinstance(message, str):
        return None
    level = int(priority) if priority in "01234567" and len(priority) == 1 else _NOTICE
    device = entry.get("_KERNEL_DEVICE")
    return KernelRecord(
        clean(message), level, None, device.lstrip("+") if isinstance(device, str) else ""
    )


class Journal:
    """Answers `burnin.card.kernel_log.log.KernelLog`."""

    lost = 0

    def __init__(self, process: subprocess.Popen[bytes]) -> None:
        self._process = process
        assert process.stdout is not None
        self._out = process.stdout
        never_waits(self._out.fileno())
        self._unread = b""

    def read(self) -> tuple[KernelRecord, ...]:
        """Entries since the last call; raises OSError once the journal is no longer followed."""
        while True:
            try:
                part = os.read(self._out.fileno(), 1 << 16)
            except BlockingIOError:
                break
            if not part:
                raise BrokenPipeError("the journal is no longer followed")
            self._unread += part
        *lines, self._unread = self._unread.split(b"\n")
        return tuple(r for r in map(record_from, lines) if r is not None)

    def source(self) -> Source:
        """The journal."""
        return KernelSource.JOURNAL()

    def close(self) -> None:
        """End the process that follows it."""
        with contextlib.suppress(OSError):
            self._process.kill()
        self._process.wait()
        self._out.close()


def open_journal() -> Journal | NotMeasured:
    """The journal from now on; NotMeasured where this account may not read the kernel's part."""
    program = shutil.which("journalctl")
    if program is None:
        return NotMeasured(KernelReason.NO_JOURNAL())
    ask = [program, "--quiet", "--dmesg", "--no-pager", "--output=json"]
    try:
        # A kernel that runs has said something: an empty answer is one that is kept from us.
        told = subprocess.run(
            [*ask, "--lines=1"], capture_output=True, timeout=_PROBE_S, check=False,
            stdin=subprocess.DEVNULL,
        ).stdout  # fmt: skip
        if not any(record_from(line) for line in told.splitlines()):
            return NotMeasured(KernelReason.JOURNAL_SILENT())
        follows = subprocess.Popen(
            [*ask, "--lines=0", "--follow"],
            stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
            start_new_session=True,
        )  # fmt: skip
    except (OSError, subprocess.SubprocessError) as error:
        return NotMeasured(KernelReason.JOURNAL_ENDED(words=str(error)))
    return Journal(follows)
