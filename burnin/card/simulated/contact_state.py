"""The electrical state of the edge contacts at a moment, and what the non-lane ones decide."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from burnin.card.simulated.causes import ContactCause
from burnin.connector.contact_map import contacts

_PASSES_BELOW_OHMS = 10_000.0
"""A slow or strap signal passes any contact below this extra resistance (estimate)."""
_PRESENCE = {1: "B17", 4: "B31", 8: "B48", 16: "B81"}
"""The PRSNT2# contact that a card of that edge width ties to PRSNT1#, the farthest one."""


@dataclass(frozen=True)
class ContactState:
    """Extra series resistance of a contact, Ω (infinite: open), and whether it is shorted."""

    ohms: float = 0.0
    shorted: bool = False


SOUND = ContactState()


def contact_states(
    causes: Iterable[ContactCause], board_c: float, uptime_s: float
) -> dict[str, ContactState]:
    """State of every contact that is not sound now, by name.

    A resistive contact's value is rounded to 0.1 Ω: the link need not be worked out for less.
    """
    states: dict[str, ContactState] = {}
    for cause in causes:
        if uptime_s < cause.after_s:
            continue
        if cause.above_board_c is not None and board_c < cause.above_board_c:
            continue
        before = states.get(cause.contact, SOUND)
        if cause.state == "short_to_ground":
            states[cause.contact] = ContactState(before.ohms, True)
        elif cause.state == "open":
            states[cause.contact] = ContactState(math.inf, before.shorted)
        else:
            warm = max(0.0, (cause.ohms or 0.0) + cause.ohms_per_k * (board_c - 25.0))
            states[cause.contact] = ContactState(
                round(before.ohms + warm, 1) if math.isfinite(before.ohms) else math.inf,
                before.shorted,
            )
    return states


def why_no_start(
    states: Mapping[str, ContactState], edge_width_lanes: int, needs_presence: bool
) -> str:
    """Why the card cannot run with these contacts, empty if it can; lanes aside.

    Reset and clock must reach the card, some 12 V and some 3.3 V contact must carry, and none may
    be shorted to ground. The presence contacts matter to a slot that is switched by them.
    """

    def carries(name: str) -> bool:
        state = states.get(name, SOUND)
        return not state.shorted and state.ohms < _PASSES_BELOW_OHMS

    known = contacts()
    for group, what in (("reset", "reset"), ("clock", "reference clock")):
        for contact in known.values():
            if contact.group == group and not carries(contact.name):
                return f"{what} does not reach the card"
    for group, volts in (("power_12v", "12 V"), ("power_3v3", "3.3 V")):
        names = [c.name for c in known.values() if c.group == group]
        if any(states.get(name, SOUND).shorted for name in names):
            return f"{volts} is shorted"
        if not any(carries(name) for name in names):
            return f"no {volts}"
    if needs_presence:
        strap = ("A1", _PRESENCE[edge_width_lanes])
        if not all(states.get(name, SOUND).ohms < _PASSES_BELOW_OHMS for name in strap):
            return "the slot does not see the card"
    return ""
