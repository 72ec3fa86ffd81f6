"""What an interrupted part of a run had observed: the watch over the whole run goes on from it."""

from __future__ import annotations

from burnin.core.errors import RecordError
from burnin.record.reader import read_record
from burnin.run.plan import RunPlan
from burnin.stages.whole_run.observed import Observed
from burnin.stages.whole_run.of_record import observed_on


def observed_so_far(plan: RunPlan) -> Observed:
    """What the record holds already where a run goes on, else nothing."""
    if not plan.opening.resumed:
        return Observed()
    try:
        return observed_on(read_record(plan.folder))
    except RecordError:
        return Observed()
