"""The bench copied into a folder, and what enumeration reads of it and of the copy."""

from __future__ import annotations

from burnin.card.files import HostFiles
from burnin.card.merge import open_bench
from burnin.card.recording.copying import record_bench
from burnin.card.recording.recorded_files import RecordedFiles
from tests.kernel.guest.reading_all import read_all
from tests.kernel.guest.saying import OUT, say


def carry_out() -> None:
    """Copy it to the test machine, and read both here."""
    folder = OUT / "recording"
    cards = open_bench(HostFiles(), this_machine=True).cards()
    count = record_bench(folder, cards)
    (copied,) = open_bench(RecordedFiles(folder), this_machine=False).cards()
    say("recorded", files=count, bench=read_all(cards[0]), copy=read_all(copied))
