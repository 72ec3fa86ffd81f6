"""Whether power may be put on a ticket's card, and the written word that overrules it."""

from __future__ import annotations

from datetime import datetime

from burnin.core.errors import BadInput, ProfileError
from burnin.profile.model import Profile
from burnin.ticket.before_power.quantity import quantity_text
from burnin.ticket.before_power.values import shorts
from burnin.ticket.store import add_all
from burnin.ticket.whole_ticket import WholeTicket

SMOKE = "smell or smoke"
"""The point that an override names where smell or smoke stands against power."""
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


def against_power(ticket: WholeTicket, profile: Profile | None) -> dict[str, str]:
    """What stands against power, by measuring point, without what was overruled in writing."""
    found = {}
    overruled = {(o.point): o.time_utc for o in ticket.overrides}
    for want, value in shorts(profile, ticket):
        if overruled.get(want.point.name, "") < value.time_utc:
            told = quantity_text(value.value, value.unit, value.uncertainty)
            found[want.point.name] = (
                f"{want.title} ({want.point.name}) reads {told}; less than"
                f" {quantity_text(want.short_below_ohm, value.unit)} is a short"
            )
    for light in ticket.first_lights:
        settled = max(ticket.last_repair_utc, overruled.get(SMOKE, ""))
        if light.ended_at_once and light.time_utc >= settled:
            found[SMOKE] = f"smell or smoke at first light ({light.time_utc}), and no repair since"
    return found


def may_power(ticket: WholeTicket, profile: Profile | None = None) -> str | None:
    """Why no power may be put on the card, with what to do; None where nothing stands against it.

    `profile` None: the ticket's own.
    """
    found = against_power(ticket, profile or profile_of(ticket))
    if not found:
        return None
    return (
        f"no power on the card of ticket {ticket.number}: {'; '.join(found.values())}."
        f" Mend it (`burnin ticket repair {ticket.number}`) and measure again, or overrule it with"
        f' `burnin ticket overrule {ticket.number} --reason "…"`'
    )


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
        raise BadInput(
            "overruling a short needs a written reason of at least"
            f" {_SHORTEST_REASON} characters; it is printed on the internal sheet"
        )
    found = against_power(ticket, profile or profile_of(ticket))
    if not found:
        raise BadInput(f"nothing stands against power on the card of ticket {ticket.number}")
    events = [("overridden", {"point": p, "reason": reason.strip()}) for p in found]
    return add_all(ticket, events, by=by, now=now)
