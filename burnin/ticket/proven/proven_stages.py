"""What the runs of a ticket have proven, stage by stage, since the card was last worked on."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from burnin.core.reading import Reading
from burnin.core.verdict import StageOutcome, StageVerdict
from burnin.profile.loader import LoadedProfile
from burnin.record.schema import StageRow
from burnin.ticket.log.days_and_spans import moment_of
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


def proven(runs: tuple[PastRun, ...], profile_sha256: str) -> dict[str, Proven]:
    """Stages by name that stand, from runs of one profile; a failure is never outweighed.

    A later run that only carried a stage over makes it no younger.
    """
    found: dict[str, Proven] = {}
    for run in runs:
        if run.profile_sha256 != profile_sha256:
            continue
        for row in run.stages:
            there = found.get(row.stage)
            stands = there is not None and (there.failed or row.taken_over)
            if row.verdict in STANDS and not stands:
                found[row.stage] = _proven(run, row)
    return found


def standing(
    ticket: WholeTicket, loaded: LoadedProfile, runs: tuple[PastRun, ...], now: datetime
) -> dict[str, Proven]:
    """Stages that need no second run now.

    A link judged before a joint was cured stands until the cure is over; then it is judged again.
    """
    cured = [
        moment_of(r.cured_utc)
        for r in ticket.repairs
        if r.cured_utc and moment_of(r.cured_utc) <= now
    ]
    last_cure = max(cured, default=None)
    return {
        name: stage
        for name, stage in proven(runs, loaded.sha256).items()
        if stage.failed
        or stage.outcome.kind not in LINK_KINDS
        or last_cure is None
        or stage.at >= last_cure
    }


def carried_over(stage: Proven) -> tuple[Reading, ...]:
    """A stage's readings as another run's record holds them: the source names the run."""
    return tuple(_from_run(reading, stage.run_id) for reading in stage.readings)


def _proven(run: PastRun, row: StageRow) -> Proven:
    at = run.started + timedelta(seconds=row.started_s or 0.0)
    return Proven(row.outcome(), run.readings_of(row.stage), run.run_id, at)


def _from_run(reading: Reading, run_id: str) -> Reading:
    if reading.source is None:
        return replace(reading, source=ProvenSource.FROM_RUN_ALONE(run=run_id))
    if reading.source.means(ProvenSource.FROM_RUN, ProvenSource.FROM_RUN_ALONE):
        return reading
    return replace(reading, source=ProvenSource.FROM_RUN(run=run_id, source=reading.source))
