"""The large word: that of the record once a run is closed and its record bears it out, else so far.

The word of a run is that of its record as a sheet prints it (`report/sheet/printed_verdict.py`).
While the run goes on there is none: what is shown then is only what stages and readings say.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from burnin.core.meaning import Meaning
from burnin.core.verdict import WHOLE_RUN, StageVerdict
from burnin.page.run_so_far import RunSoFar
from burnin.page.seen import Phase
from burnin.page.terms import SoFarDetail, WordSoFar


@dataclass(frozen=True)
class LargeWord:
    """The word, how it is drawn (`kind`), and what stands below it."""

    word: Meaning
    kind: str
    detail: tuple[Meaning, ...] = ()


_CLOSED = (StageVerdict.PASS, StageVerdict.FAIL, StageVerdict.ABORTED)


def word_so_far(so_far: RunSoFar, phase: Phase, folder: Path) -> LargeWord:
    """The word of a run without a verdict."""
    if phase is Phase.FINISHED:
        return LargeWord(WordSoFar.CHECKING(), "so-far", (SoFarDetail.CHECKING(),))
    if phase is Phase.CUT_OFF:
        return LargeWord(WordSoFar.CUT_OFF(), "open", (SoFarDetail.GO_ON_WITH(folder=str(folder)),))
    if so_far.trip is not None:
        why = so_far.trip.reason()
        return LargeWord(WordSoFar.ENDED(), "aborted", () if why is None else (why,))
    if phase is Phase.STOPPING:
        return LargeWord(WordSoFar.STOPPING(), "open", (SoFarDetail.STOPPING(),))
    stages = [stage for stage in so_far.stages.values() if stage.kind != WHOLE_RUN]
    done = [stage for stage in stages if stage.verdict is not StageVerdict.INCOMPLETE]
    detail = (SoFarDetail.STAGES_DONE(done_count=len(done), stages_count=len(stages)),)
    verdicts = {stage.verdict for stage in so_far.stages.values()}
    if so_far.failed or StageVerdict.FAIL in verdicts:
        return LargeWord(WordSoFar.FAILED(), "fail", detail)
    if so_far.begin_unread:  # nothing bad at its end is not yet nothing bad
        return LargeWord(WordSoFar.BEING_READ(), "so-far", (SoFarDetail.BEING_READ(),))
    if not done:
        return LargeWord(WordSoFar.NOTHING_YET(), "so-far", detail)
    if any(stage.verdict not in _CLOSED for stage in done):
        return LargeWord(WordSoFar.OPEN(), "open", detail)
    return LargeWord(WordSoFar.NO_FAULT(), "so-far", detail)
