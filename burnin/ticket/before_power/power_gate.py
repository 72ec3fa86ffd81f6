"""Whether power may be put on a ticket's card, and the written word that overrules it."""

from __future__ import annotations

from datetime import datetime

from burnin.core.errors import BadInput, ProfileError
from burnin.core.meaning import Reason
from burnin.profile.model import Profile
from burnin.ticket.before_power.judging import shorts
from burnin.ticket.before_power.meanings import BeforePowerReason
from burnin.ticket.before_power.refusals import BeforePowerRefusal
from burnin.ticket.before_power.shown_quantity import shown_quantity
from burnin.ticket.log.store import add_all
from burnin.ticket.log.whole_ticket import SMOKE, WholeTicket

_SHORTEST_REASON = 10


def profile_of(ticket: WholeTicket) -> Profile | None:
    """The ticket's own profile, None where it names none that can be read."""
    from burnin.profile.loader import load_profile

    name = ticket.intake.get("profile", "")
    if not name:
        return None
    try:
        return load_profile(name).profile
    except ProfileError:
        return None


def against_power(ticket: WholeTicket, profile: Profile | None) -> dict[str, Reason]:
    """What stands against power, by measuring point, without what was overruled in writing.

    Smell or smoke stands under `SMOKE`. `profile` None: the ticket's own.
    """
    found = {}
    overruled = {o.point: o.time_utc for o in ticket.overrides}
    for want, value in shorts(profile or profile_of(ticket), ticket):
        if overruled.get(want.point.name, "") < value.time_utc:
            code = BeforePowerReason.READS_A_SHORT
            if value not in ticket.measured:
                code = BeforePowerReason.SHORT_TAKEN_BACK
            found[want.point.name] = code(
                title=want.title,
                point=want.point.name,
                reads=shown_quantity(value.value, value.unit, value.uncertainty),
                short=shown_quantity(want.short_below, value.unit),
            )
    for light in ticket.first_lights:
        settled = max(ticket.last_repair_utc, overruled.get(SMOKE, ""))
        if light.ended_at_once and light.time_utc >= settled:
            found[SMOKE] = BeforePowerReason.SMOKE_AND_NO_REPAIR(time_utc=light.time_utc)
    return found


def may_power(ticket: WholeTicket, profile: Profile | None = None) -> Reason | None:
    """Why no power may be put on the card, with what to do; None where nothing stands against it.

    `profile` None: the ticket's own.
    """
    found = against_power(ticket, profile)
    if not found:
        return None
    return BeforePowerReason.NO_POWER(number=ticket.number, against=tuple(found.values()))


def overrule(
    ticket: WholeTicket,
    reason: str,
    profile: Profile | None = None,
    *,
    by: str = "",
    now: datetime | None = None,
) -> WholeTicket:
    """Let power on in spite of what stands against it; raises BadInput without a written reason."""
    if len(reason.strip()) < _SHORTEST_REASON:
        raise BadInput(BeforePowerRefusal.OVERRULE_NEEDS_REASON(least_count=_SHORTEST_REASON))
    found = against_power(ticket, profile)
    if not found:
        raise BadInput(BeforePowerRefusal.NOTHING_AGAINST(number=ticket.number))
    events = [("overridden", {"point": p, "reason": reason.strip()}) for p in found]
    return add_all(ticket, events, by=by, now=now)
