"""What no stage can test of a graphics card: it is named, so that nobody takes it for tested."""

from __future__ import annotations

from burnin.core.meaning import Term
from burnin.core.reading import Verdict, reading_subject
from burnin.record.reader import Record
from burnin.report.sheet.meanings import UntestedTerm

DISPLAY, UNDER_LOAD = "display", "under_load"
PICTURES = ("picture_seen", "picture_clean")


def never_tested(record: Record | None) -> tuple[Term, ...]:
    """Parts that a card may have and no stage works; those of screens where it has outputs."""
    kinds = {stage.kind for stage in record.run.stages} if record else {DISPLAY}
    found = [UntestedTerm.VIDEO_UNITS(), UntestedTerm.RAY_TRACING(), UntestedTerm.LIGHTS()]
    if DISPLAY in kinds:
        found = [UntestedTerm.SOUND(), *found, UntestedTerm.OTHER_SOCKETS()]
        if record is None or not _picture_seen(record):
            found = [UntestedTerm.PICTURE(), *found]
    return tuple(found)


def _picture_seen(record: Record) -> bool:
    """Whether somebody looked at a picture, and it was judged."""
    judged = (Verdict.PASS, Verdict.FAIL)
    return any(
        reading_subject(reading.name)[0] in PICTURES and reading.verdict in judged
        for reading in record.readings
    )
