"""What a ticket still owes, and from when it may be done."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from burnin.core.clock import iso
from burnin.core.meaning import Owed, Reason, Value
from burnin.core.reading import ReadingReason, Verdict
from burnin.core.verdict import WHOLE_RUN, OwedWhat, StageVerdict, stage_title
from burnin.profile.loader import LoadedProfile
from burnin.profile.model import Profile, stage_name
from burnin.record.schema.run import StageRow
from burnin.ticket.before_power.judging import judged
from burnin.ticket.before_power.points import wanted
from burnin.ticket.before_power.power_gate import against_power
from burnin.ticket.intake.repairs import curing, uncured
from burnin.ticket.log.both_clocks import cured_at
from burnin.ticket.log.days_and_spans import moment_of, utc_now
from burnin.ticket.log.whole_ticket import SMOKE, WholeTicket
from burnin.ticket.meanings import TicketOwed, TicketReason
from burnin.ticket.proven.counting import runs_that_count
from burnin.ticket.proven.past_runs import PastRun
from burnin.ticket.proven.proven_stages import LINK_KINDS, Proven, proven, standing
from burnin.ticket.proven.ticket_profile import profile_of_ticket
from burnin.ticket.put_off import PutOff, stages_put_off


@dataclass(frozen=True)
class Owes:
    """One thing that somebody must still do.

    `stage` is that of the profile (empty: no stage); `from_utc` empty: at any time. `failed`: it
    was carried out and failed, so that a repair is owed.
    """

    stage: str
    what: Owed
    reason: Reason
    from_utc: str = ""
    failed: bool = False

    def may_be_done(self, now: datetime) -> bool:
        """Whether its time has come."""
        return not self.from_utc or moment_of(self.from_utc) <= now

    @property
    def before_power(self) -> bool:
        """Whether it is owed on the unpowered card."""
        return self.what.means(TicketOwed.POINT, TicketOwed.POINTS, TicketOwed.SMOKE)


def owed_now(
    ticket: WholeTicket, loaded: LoadedProfile | None = None, now: datetime | None = None
) -> tuple[Owes, ...]:
    """Everything that a ticket owes; empty for a closed one and for one without a fix."""
    if ticket.closed or ticket.no_fix:
        return ()
    moment = now or utc_now()
    runs = runs_that_count(ticket)
    loaded = loaded or profile_of_ticket(ticket, runs)
    found = [*_before_power(ticket, loaded.profile if loaded else None)]
    if not runs:
        found.append(Owes("", OwedWhat.WHOLE_RUN(), TicketReason.NO_RUN_SINCE_WORK()))
    elif loaded is None:
        found += [Owes(owed.stage, owed.what, owed.reason) for owed in runs[-1].run.owed]
    else:
        found += _stages(ticket, loaded, runs, moment)
    return (*found, *_cure(ticket, moment, runs, loaded))


def stages_owed(
    ticket: WholeTicket, loaded: LoadedProfile | None = None, now: datetime | None = None
) -> list[str]:
    """Names (``4-memory``) of the stages that a run of this ticket must carry out now, in order.

    Left out are those that stand, those put off until later, and those put off without a day.
    """
    moment = now or utc_now()
    runs = runs_that_count(ticket)
    loaded = loaded or profile_of_ticket(ticket, runs)
    if loaded is None:
        return []
    stand = standing(ticket, loaded, runs, moment)
    later = stages_put_off(ticket, loaded.profile, moment)
    names = (stage_name(n, s) for n, s in enumerate(loaded.profile.stages, start=1))
    return [name for name in names if name not in stand and name not in later]


def one_reason(reasons: Iterable[Reason]) -> Reason | None:
    """Several reasons as one; None for none."""
    found = tuple(reasons)
    return TicketReason.SEVERAL(reasons=found) if len(found) > 1 else next(iter(found), None)


def _before_power(ticket: WholeTicket, profile: Profile | None) -> list[Owes]:
    """What the unpowered card still owes; points that share a reason together."""
    against = against_power(ticket, profile)
    reasons: dict[str, Reason] = dict(against)
    overruled = {o.point for o in ticket.overrides}
    for reading in judged(profile, ticket):
        bad = reading.verdict not in (Verdict.PASS, None)
        if bad and reading.required and reading.name not in against.keys() | overruled:
            reasons[reading.name] = reading.reason or ReadingReason.NOT_READ()
    titles = {want.point.name: want.title for want in wanted(profile, ticket)}
    found = []
    while reasons:
        reason = next(iter(reasons.values()))
        names = tuple(n for n, why in reasons.items() if why == reason and n != SMOKE)
        if SMOKE in reasons and reasons[SMOKE] == reason:
            names = (SMOKE,)
        found.append(Owes("", _points(names, titles), reason))
        reasons = {name: why for name, why in reasons.items() if name not in names}
    return found


def _points(names: tuple[str, ...], titles: Mapping[str, Value]) -> Owed:
    if names == (SMOKE,):
        return TicketOwed.SMOKE()
    told = tuple(titles.get(name, name) for name in names)
    if len(names) == 1:
        return TicketOwed.POINT(point=told[0])
    return TicketOwed.POINTS(titles=told, points=names)


def _stages(
    ticket: WholeTicket, loaded: LoadedProfile, runs: tuple[PastRun, ...], now: datetime
) -> list[Owes]:
    stand = standing(ticket, loaded, runs, now)
    off = stages_put_off(ticket, loaded.profile, now)
    latest = {
        row.stage: row
        for run in runs
        if run.profile_sha256 == loaded.sha256
        for row in run.stages
    }
    found = []
    for number, stage in enumerate(loaded.profile.stages, start=1):
        name, title = stage_name(number, stage), stage_title(stage.stage, stage.title)
        if name not in stand:
            put = off.get(name)
            reason = _why_open(put, latest.get(name))
            what = OwedWhat.STAGE(stage=title)
            found.append(Owes(name, what, reason, put.from_utc if put else ""))
        elif stand[name].failed:
            why = one_reason(stand[name].outcome.reasons) or TicketReason.NO_REASON_ON_RECORD()
            what = TicketOwed.FAILED_STAGE(stage=title)
            found.append(Owes(name, what, why, failed=True))
    for entry in loaded.profile.owed:
        owed = entry.as_owed()
        found.append(Owes(owed.stage, owed.what, owed.reason))
    names = {stage_name(n, s) for n, s in enumerate(loaded.profile.stages, start=1)}
    found += [_failed_beside(stage) for name, stage in stand.items() if name not in names]
    return found + _failed_elsewhere(loaded, runs) + _of_former_profiles(ticket, loaded, runs)


def _of_former_profiles(
    ticket: WholeTicket, loaded: LoadedProfile, runs: tuple[PastRun, ...]
) -> list[Owes]:
    """What runs under a profile that the ticket had before have left, by kind of stage.

    Correcting the profile takes no work away: it is owed until any run since has shown it.
    """
    former = {Path(name).stem for name in ticket.former_profiles}
    shown = {row.kind for run in runs for row in run.stages if row.verdict is StageVerdict.PASS}
    wanted = {stage.stage for stage in loaded.profile.stages}
    found: dict[str, Owes] = {}
    for run in runs:
        if run.profile_name not in former or run.profile_sha256 == loaded.sha256:
            continue
        for row in run.stages:
            if row.kind in shown | wanted | {WHOLE_RUN} or row.verdict is StageVerdict.FAIL:
                continue
            title = stage_title(row.kind, row.own_title)
            what = TicketOwed.OF_FORMER_PROFILE(stage=title, profile=run.profile_name)
            why = one_reason(row.reasons) or TicketReason.NOT_CARRIED_OUT_YET()
            found[row.kind] = Owes("", what, why)
    return list(found.values())


def _failed_beside(stage: Proven) -> Owes:
    """The closing part of a run that failed: what was shown did not hold until its end."""
    outcome = stage.outcome
    why = one_reason(outcome.reasons) or TicketReason.NO_REASON_ON_RECORD()
    title = stage_title(outcome.kind, outcome.own_title)
    return Owes("", TicketOwed.FAILED_STAGE(stage=title), why, failed=True)


def _why_open(put: PutOff | None, row: StageRow | None) -> Reason:
    """Why a stage that does not stand is owed; `row` is what the newest run says of it."""
    if put is not None:
        return put.reason
    if row is not None and row.verdict is StageVerdict.PASS:
        return TicketReason.LINK_PASSED_BEFORE_CURE()
    reason = one_reason(row.reasons) if row is not None else None
    return reason or TicketReason.NOT_CARRIED_OUT_YET()


def _failed_elsewhere(loaded: LoadedProfile, runs: tuple[PastRun, ...]) -> list[Owes]:
    """What failed under another profile since the last repair: a failure is never outweighed."""
    return [
        Owes(
            "",
            TicketOwed.FAILED_ELSEWHERE(
                stage=stage_title(row.kind, row.own_title), profile=run.profile_name
            ),
            one_reason(row.reasons) or TicketReason.NO_REASON_ON_RECORD(),
            failed=True,
        )
        for run in runs
        if run.profile_sha256 != loaded.sha256
        for row in run.stages
        if row.verdict in (StageVerdict.FAIL, StageVerdict.ABORTED)
    ]


def _cure(
    ticket: WholeTicket, now: datetime, runs: tuple[PastRun, ...], loaded: LoadedProfile | None
) -> list[Owes]:
    """The link judged again once everything is cured, where it was judged before."""
    open_ones = uncured(ticket, now)
    if not open_ones:
        return []
    stages = proven(runs, loaded.sha256).values() if loaded else ()
    judged_links = any(stage.outcome.kind in LINK_KINDS for stage in stages)
    if loaded is not None and runs and not judged_links:
        return []  # the link's own stage is owed, and waits for the cure
    again, first = TicketOwed.LINK_AGAIN_AFTER_CURING(), TicketOwed.LINK_AFTER_CURING()
    until = iso(max(map(cured_at, open_ones)))
    return [Owes("", again if judged_links else first, curing(ticket, open_ones, now), until)]
