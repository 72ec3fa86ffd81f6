"""The electrical state of the edge contacts at a moment, and what the non-lane ones decide."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from burnin.connector.contact_map import PRESENCE_END, contacts
from burnin.sim.causes.contacts import CapacitorCause, ContactCause
from burnin.sim.physics.card_down import CardDown
from burnin.sim.physics.hands import OPENS_AT

_PASSES_BELOW_OHMS = 10_000.0
"""A slow or strap signal passes any contact below this extra resistance (estimate)."""
_RAILS = ("power_12v", "power_3v3", "power_3v3aux")
_RUNNING_RAILS = (
    ("power_12v", CardDown.TWELVE_VOLTS_SHORTED, CardDown.NO_TWELVE_VOLTS),
    ("power_3v3", CardDown.THREE_VOLTS_SHORTED, CardDown.NO_THREE_VOLTS),
)
_SLOT_GROUND = "A1"
"""The slot's side of PRSNT1# is ground (CEM specification, second hand: MindShare, ch. 19)."""


@dataclass(frozen=True)
class ContactState:
    """Extra series resistance of a contact, Ω (infinite: open), and what it touches.

    `shorted`: held at ground or at a supply. `joined`: the signal next to it drives it as well.
    """

    ohms: float = 0.0
    shorted: bool = False
    joined: bool = False


SOUND = ContactState()
UNTOUCHED: Mapping[str, float] = {}
"""Nobody moves the card."""


def contact_states(
    causes: Iterable[ContactCause | CapacitorCause],
    board_c: float,
    uptime_s: float,
    moved: Mapping[str, float] = UNTOUCHED,
) -> dict[str, ContactState]:
    """State of every contact that is not sound now, by name; `moved`: how far each place is.

    A coupling capacitor counts as series resistance of its contact. A resistive contact's value
    is rounded to 0.1 Ω: the link need not be worked out for less.
    """
    states: dict[str, ContactState] = {}
    for cause in causes:
        if not cause.on_at(uptime_s):
            continue
        if cause.above_board_c is not None and board_c < cause.above_board_c:
            continue
        name, warm = _place(cause, board_c)
        if isinstance(cause, ContactCause) and cause.moved_at is not None:
            bent = moved.get(cause.moved_at, 0.0)
            if bent <= 0.0 or (cause.state == "open" and bent < OPENS_AT):
                continue
            warm *= bent
        before = states.get(name, SOUND)
        if cause.state == "short_to_ground":
            states[name] = replace(before, shorted=True)
        elif cause.state == "short_to_neighbour":
            assert isinstance(cause, ContactCause)
            assert cause.neighbour is not None
            _touch(states, name, cause.neighbour)
            _touch(states, cause.neighbour, name)
        elif cause.state == "open":
            states[name] = replace(before, ohms=math.inf)
        else:
            states[name] = replace(before, ohms=round(before.ohms + warm, 1))
    return states


def _place(cause: ContactCause | CapacitorCause, board_c: float) -> tuple[str, float]:
    """The contact that a cause is in series with, and its resistance where it has one."""
    if isinstance(cause, ContactCause):
        return cause.contact, max(0.0, (cause.ohms or 0.0) + cause.ohms_per_k * (board_c - 25.0))
    name = next(
        contact.name
        for contact in contacts().values()
        if (contact.group, contact.lane, contact.polarity) == ("lane_tx", cause.lane, cause.leg)
    )
    return name, cause.ohms or 0.0


def _touch(states: dict[str, ContactState], name: str, other: str) -> None:
    """What a contact becomes when it touches another; ground and supplies hold what they touch."""
    own, theirs = contacts()[name].group, contacts()[other].group
    before = states.get(name, SOUND)
    if own == theirs and (own == "ground" or own in _RAILS):
        return
    if theirs == "ground" or other == _SLOT_GROUND:
        if own != "ground":
            states[name] = replace(before, shorted=True)
    elif theirs in _RAILS:
        if own not in _RAILS and own != "ground":
            states[name] = replace(before, shorted=True)
    elif own not in _RAILS and own != "ground":
        states[name] = replace(before, joined=True)


def why_no_start(
    states: Mapping[str, ContactState], edge_width_lanes: int, needs_presence: bool
) -> CardDown | None:
    """Why the card cannot run with these contacts, None if it can; lanes aside.

    Reset and clock must reach the card, some 12 V and some 3.3 V contact must carry, and none may
    be shorted to ground. The presence contacts matter to a slot that is switched by them.
    """
    if not states:
        return None

    def carries(name: str) -> bool:
        state = states.get(name, SOUND)
        return not state.shorted and not state.joined and state.ohms < _PASSES_BELOW_OHMS

    known = contacts()
    for group, missing in (("reset", CardDown.NO_RESET), ("clock", CardDown.NO_CLOCK)):
        for contact in known.values():
            if contact.group == group and not carries(contact.name):
                return missing
    for group, shorted, lost in _RUNNING_RAILS:
        names = [c.name for c in known.values() if c.group == group]
        if any(states.get(name, SOUND).shorted for name in names):
            return shorted
        if not any(carries(name) for name in names):
            return lost
    if needs_presence:
        strap = ("A1", PRESENCE_END[edge_width_lanes])
        if not all(states.get(name, SOUND).ohms < _PASSES_BELOW_OHMS for name in strap):
            return CardDown.NOT_SEEN_BY_SLOT
    return None
