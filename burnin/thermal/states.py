"""The states of a card's cooling, with the part to suspect and what to look at."""

from __future__ import annotations

from enum import StrEnum
from typing import Final, TypeAlias

from burnin.core.meaning import Cause, Check, Term
from burnin.thermal.meanings import CoolingCause, CoolingCheck, CoolingTerm


class CooledBy(StrEnum):
    """What takes the heat off the card."""

    FANS = "fans"
    WATER = "water"
    STREAM = "stream"


class Cooling(StrEnum):
    """What the cooling is like; the values are words of records."""

    HEALTHY_AIR = "healthy air"
    HEALTHY_LOOP = "healthy loop"
    NO_COOLANT = "no coolant"
    FLOW_LOST = "flow lost"
    FAN_LOST = "fan lost"
    POOR_MOUNT = "poor mount"
    MISSING_PASTE = "missing paste under the hot spot"
    CLOGGED = "clogged"
    UNKNOWN = "unknown"


class Undecided(StrEnum):
    """Takes a state's place while none is probable enough."""

    CANNOT_TELL = "cannot tell yet"


CoolingState: TypeAlias = Cooling | Undecided
CANNOT_TELL: Final = Undecided.CANNOT_TELL

HEALTHY = frozenset({Cooling.HEALTHY_AIR, Cooling.HEALTHY_LOOP})
DRY_STATES = frozenset({Cooling.NO_COOLANT, Cooling.FLOW_LOST})
"""What a block without a loop can be: empty, or with water that stands in it."""

_TERM: dict[CoolingState, CoolingTerm] = {
    **{state: CoolingTerm[state.name] for state in Cooling},
    CANNOT_TELL: CoolingTerm.CANNOT_TELL,
}

_SUSPECT: dict[Cooling, CoolingCause] = {
    Cooling.HEALTHY_AIR: CoolingCause.PLAN_FOR_AIR,
    Cooling.HEALTHY_LOOP: CoolingCause.PLAN_FOR_LOOP,
    Cooling.NO_COOLANT: CoolingCause.DRY_BLOCK,
    Cooling.FLOW_LOST: CoolingCause.PUMP,
    Cooling.FAN_LOST: CoolingCause.FAN,
    Cooling.POOR_MOUNT: CoolingCause.MOUNT,
    Cooling.MISSING_PASTE: CoolingCause.PASTE,
    Cooling.CLOGGED: CoolingCause.CLOGGED,
    Cooling.UNKNOWN: CoolingCause.UNKNOWN,
}
_SUSPECT_IN_STREAM: dict[Cooling, CoolingCause] = {
    Cooling.HEALTHY_AIR: CoolingCause.PLAN_FOR_STREAM,
    Cooling.FAN_LOST: CoolingCause.STREAM,
    Cooling.CLOGGED: CoolingCause.CLOGGED_IN_STREAM,
}
_CHECK: dict[Cooling, CoolingCheck] = {
    Cooling.HEALTHY_AIR: CoolingCheck.LESS_FOR_AIR,
    Cooling.HEALTHY_LOOP: CoolingCheck.LESS_FOR_LOOP,
    Cooling.NO_COOLANT: CoolingCheck.LOOP_FILLED,
    Cooling.FLOW_LOST: CoolingCheck.PUMP,
    Cooling.FAN_LOST: CoolingCheck.FANS,
    Cooling.POOR_MOUNT: CoolingCheck.MOUNT,
    Cooling.MISSING_PASTE: CoolingCheck.PASTE,
    Cooling.CLOGGED: CoolingCheck.DUST,
    Cooling.UNKNOWN: CoolingCheck.UNKNOWN,
}
_CHECK_IN_STREAM: dict[Cooling, CoolingCheck] = {
    Cooling.HEALTHY_AIR: CoolingCheck.LESS_FOR_STREAM,
    Cooling.FAN_LOST: CoolingCheck.STREAM,
    Cooling.CLOGGED: CoolingCheck.DUST_IN_STREAM,
}


def term_of(state: CoolingState) -> Term:
    """The state's name, for a catalogue to word."""
    return _TERM[state]()


def suspect(state: Cooling, cooled_by: CooledBy | None = None) -> Cause:
    """The part to suspect."""
    if cooled_by is CooledBy.STREAM and state in _SUSPECT_IN_STREAM:
        return _SUSPECT_IN_STREAM[state]()
    return _SUSPECT[state]()


def check(state: Cooling, cooled_by: CooledBy | None = None) -> Check:
    """What to look at."""
    if cooled_by is CooledBy.STREAM and state in _CHECK_IN_STREAM:
        return _CHECK_IN_STREAM[state]()
    return _CHECK[state]()
