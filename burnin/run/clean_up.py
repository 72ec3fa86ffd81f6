"""What is done at the end of every run, whatever ended it: load off, then the cool-down watched."""

from __future__ import annotations

import traceback
from contextlib import suppress
from functools import partial

from burnin.core.errors import RefusedBySystem, WorkerSilent
from burnin.core.events import Noted, Publish
from burnin.core.meaning import Note
from burnin.core.reading import NotMeasured
from burnin.core.verdict import Ended
from burnin.guard.sampler import Watch
from burnin.run.plan import RunPlan
from burnin.run.reasons import RunNote

_COOL_AFTER_S = {Ended.TRIPPED: 20.0, Ended.FAILED: 0.5, Ended.STOPPED_BY_HAND: 1.5}
"""How long the cooling is watched; a run that came to its end has cooled in its stages. After a
card or a worker that was lost, and after a stop by hand or signal, the record is to be closed soon:
within 3 s of the fault."""


def make_safe(plan: RunPlan, watch: Watch, stage: str, ended: Ended, publish: Publish) -> None:
    """Load off, then watch the card cool; one failing step does not keep the next back.

    `stage` is the last one, to which samples and notes belong.
    """
    for step in (partial(_end_engine, plan), partial(_watch_cooling, plan, watch, stage, ended)):
        try:
            step()
        except WorkerSilent as left:
            _tell(publish, stage, RunNote.CLEAN_UP_LEFT(reason=left.reason))
        except Exception as error:
            note = RunNote.CLEAN_UP_BROKE(
                error=type(error).__name__, words=str(error), traceback=traceback.format_exc()
            )
            _tell(publish, stage, note)


def _tell(publish: Publish, stage: str, note: Note) -> None:
    with suppress(RefusedBySystem):
        publish(Noted(stage, note))


def _end_engine(plan: RunPlan) -> None:
    if not isinstance(plan.bench.engine, NotMeasured):
        plan.bench.engine.close()


def _watch_cooling(plan: RunPlan, watch: Watch, stage: str, ended: Ended) -> None:
    if plan.bench.no_card:
        return
    clock = plan.bench.clock
    end_s = clock.monotonic_s() + _COOL_AFTER_S.get(ended, 0.0)
    while clock.monotonic_s() < end_s:
        if not watch.cools(stage) or (plan.stop_asked() and ended is not Ended.STOPPED_BY_HAND):
            return
        watch.pause()
