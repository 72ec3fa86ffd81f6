"""Stages that are put off: by hand, or by themselves while a joint cures; why, and until when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from burnin.core.clock import iso
from burnin.core.errors import BadInput
from burnin.core.meaning import Reason
from burnin.profile.model import Profile, stage_name
from burnin.record.event_log import Log
from burnin.stages.registry import stage_kind, stage_kinds
from burnin.ticket.intake.repairs import curing, uncured
from burnin.ticket.log.both_clocks import cured_at
from burnin.ticket.log.days_and_spans import moment_of, parse_from, utc_now
from burnin.ticket.log.store import add
from burnin.ticket.log.whole_ticket import Deferral, WholeTicket
from burnin.ticket.meanings import TicketReason
from burnin.ticket.refusals import TicketRefusal


def put_off_stage(
    ticket: WholeTicket,
    stage: str,
    reason: str,
    from_: str = "",
    *,
    by: str = "",
    now: datetime | None = None,
) -> WholeTicket:
    """Put a stage off; raises BadInput for one that the profile does not have, or no reason."""
    return put_off_and_tell(ticket, stage, reason, from_, by=by, now=now)[0]


def put_off_and_tell(
    ticket: WholeTicket,
    stage: str,
    reason: str,
    from_: str = "",
    *,
    by: str = "",
    now: datetime | None = None,
) -> tuple[WholeTicket, Deferral | None]:
    """Put a stage off, and what stood in that place until then, by whoever it was put off."""
    if not reason.strip():
        raise BadInput(TicketRefusal.WHY_PUT_OFF(stage=stage))
    name = _known_stage(ticket, stage)
    fields = {
        "stage": name,
        "reason": reason.strip(),
        "from_utc": parse_from(from_, now or utc_now()),
    }
    before: list[Deferral | None] = []

    def look(_: Log, there: WholeTicket) -> None:
        before.append(there.deferrals.get(name))

    after = add(ticket, "deferred", fields, by=by, now=now, unless=look)
    return after, before[-1]


def take_up_stage(
    ticket: WholeTicket, stage: str, *, by: str = "", now: datetime | None = None
) -> WholeTicket:
    """A stage that was put off is put off no longer; raises BadInput where it was not."""

    def not_put_off(_: Log, there: WholeTicket) -> Reason | None:
        if stage in there.deferrals:
            return None
        if not there.deferrals:
            return TicketRefusal.NOTHING_PUT_OFF(stage=stage, number=ticket.number)
        return TicketRefusal.NOT_PUT_OFF(
            stage=stage, number=ticket.number, there=tuple(there.deferrals)
        )

    return add(ticket, "undeferred", {"stage": stage}, by=by, now=now, unless=not_put_off)


@dataclass(frozen=True)
class PutOff:
    """Why a stage is not done now, and from when it may be; `from_utc` empty: nobody knows."""

    reason: Reason
    from_utc: str

    def told(self) -> Reason:
        """The reason with the moment from which it holds no longer, where there is one."""
        return not_before(self.reason, self.from_utc)


def stages_put_off(
    ticket: WholeTicket, profile: Profile, now: datetime, *, overruled: bool = False
) -> dict[str, PutOff]:
    """Stages, by name, that are not to be done now: put off by hand, or because a joint cures.

    `overruled`: somebody overruled in writing what is put off by itself, but for stages that no
    joint may go through before it is cured. What was put off by hand stays so: it is taken up by
    hand.
    """
    found = _by_hand(ticket, profile, now)
    kinds = {stage_name(n, s): stage_kind(s.stage) for n, s in enumerate(profile.stages, start=1)}
    for name, uncured_yet in put_off_by_cure(ticket, profile, now).items():
        if overruled and not kinds[name].needs_cured:
            continue
        there = found.get(name)
        if there is None or (there.from_utc and there.from_utc < uncured_yet.from_utc):
            found[name] = uncured_yet
    return found


def put_off_by_cure(ticket: WholeTicket, profile: Profile, now: datetime) -> dict[str, PutOff]:
    """Stages, by name, that would warm a joint before it is cured."""
    open_ones = uncured(ticket, now)
    if not open_ones:
        return {}
    until = iso(max(map(cured_at, open_ones)))
    why = curing(ticket, open_ones, now)
    return {
        stage_name(number, stage): PutOff(why, until)
        for number, stage in enumerate(profile.stages, start=1)
        if stage_kind(stage.stage).works
    }


def _by_hand(ticket: WholeTicket, profile: Profile, now: datetime) -> dict[str, PutOff]:
    found = {}
    for number, stage in enumerate(profile.stages, start=1):
        name = stage_name(number, stage)
        off = ticket.deferrals.get(name) or ticket.deferrals.get(stage.stage)
        if off is not None and (not off.from_utc or moment_of(off.from_utc) > now):
            found[name] = PutOff(why_put_off(off), off.from_utc)
    return found


def why_put_off(off: Deferral) -> Reason:
    """Somebody's own words for why a stage is put off."""
    return TicketReason.PUT_OFF(words=off.words)


def not_before(reason: Reason, from_utc: str) -> Reason:
    """The reason with the moment from which it holds no longer, where there is one."""
    return TicketReason.NOT_BEFORE(reason=reason, from_utc=from_utc) if from_utc else reason


def _known_stage(ticket: WholeTicket, stage: str) -> str:
    """The stage as it was named; raises BadInput with the names that there are."""
    from burnin.ticket.proven.counting import runs_that_count
    from burnin.ticket.proven.ticket_profile import profile_of_ticket

    loaded = profile_of_ticket(ticket, runs_that_count(ticket))
    names = list(stage_kinds())
    if loaded is not None:
        stages = list(enumerate(loaded.profile.stages, start=1))
        names = [s.stage for _, s in stages] + [stage_name(n, s) for n, s in stages]
    if stage not in names:
        raise BadInput(TicketRefusal.NO_STAGE(stage=stage, there=tuple(dict.fromkeys(names))))
    return stage
