"""What the runs of a ticket have proven, stage by stage, since the card was last worked on."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from burnin.core.reading import Reading
from burnin.core.verdict import WHOLE_RUN, StageOutcome, StageVerdict
from burnin.profile.loader import LoadedProfile
from burnin.record.schema.run import StageRow
from burnin.ticket.log.both_clocks import cured_at
from burnin.ticket.log.whole_ticket import WholeTicket
from burnin.ticket.proven.meanings import ProvenSource
from burnin.ticket.proven.past_runs import PastRun

STANDS = (StageVerdict.PASS, StageVerdict.FAIL)
"""Verdicts of a stage that need no second run: it passed, or what failed stays failed."""
LINK_KINDS = ("link",)
"""Kinds of stage that are done again once the joint of a repaired contact is cured."""


@dataclass(frozen=True)
class Proven:
    """A stage that needs no second run, with its readings and the run that it comes from."""

    outcome: StageOutcome
    readings: tuple[Reading, ...]
    run_id: str
    at: datetime

    @property
    def failed(self) -> bool:
        """Whether what it proves is a failure."""
        return self.outcome.verdict is StageVerdict.FAIL


def proven(
    runs: tuple[PastRun, ...], profile_sha256: str, *, anew: bool = False
) -> dict[str, Proven]:
    """Stages by name that stand, from runs of one profile; a failure is never outweighed.

    A later run that only carried a stage over makes it no younger. What a record says that nobody
    vouches for is judged anew first; `anew`: all of it is. The closing part of a run stands only
    where it failed.
    """
    found: dict[str, Proven] = {}
    for run in runs:
        if run.profile_sha256 != profile_sha256:
            continue
        for row in run.stages:
            if row.kind == WHOLE_RUN and row.verdict is not StageVerdict.FAIL:
                continue
            there = found.get(row.stage)
            stands = there is not None and (there.failed or row.taken_over)
            if row.verdict in STANDS and not stands and _holds(run, row, anew=anew):
                found[row.stage] = _proven(run, row)
    return found


def standing(
    ticket: WholeTicket,
    loaded: LoadedProfile,
    runs: tuple[PastRun, ...],
    now: datetime,
    *,
    anew: bool = False,
) -> dict[str, Proven]:
    """Stages that need no second run now; `anew`: every verdict is computed once more.

    A link judged before a joint was cured stands until the cure is over; then it is judged again.
    """
    cured = [cured_at(r) for r in ticket.repairs if r.cured_utc and cured_at(r) <= now]
    last_cure = max(cured, default=None)
    return {
        name: stage
        for name, stage in proven(runs, loaded.sha256, anew=anew).items()
        if stage.failed
        or stage.outcome.kind not in LINK_KINDS
        or last_cure is None
        or stage.at >= last_cure
    }


def carried_over(stage: Proven) -> tuple[Reading, ...]:
    """A stage's readings as another run's record holds them: the source names the run."""
    return tuple(_from_run(reading, stage.run_id) for reading in stage.readings)


def _holds(run: PastRun, row: StageRow, *, anew: bool) -> bool:
    """Whether a row of run.json may be believed; what failed is never taken back."""
    if row.verdict is StageVerdict.FAIL or (run.vouched and not anew):
        return True
    return run.stands(row.stage, older=run.vouched or run.may_be_older)


def _proven(run: PastRun, row: StageRow) -> Proven:
    at = run.started + timedelta(seconds=row.started_s or 0.0)
    return Proven(row.outcome(), run.readings_of(row.stage), run.run_id, at)


def _from_run(reading: Reading, run_id: str) -> Reading:
    if reading.source is None:
        return replace(reading, source=ProvenSource.FROM_RUN_ALONE(run=run_id))
    if reading.source.means(ProvenSource.FROM_RUN, ProvenSource.FROM_RUN_ALONE):
        return reading
    return replace(reading, source=ProvenSource.FROM_RUN(run=run_id, source=reading.source))
