"""The eight states of a card's cooling, with the part to suspect and what to look at."""

from __future__ import annotations

from enum import StrEnum


class CooledBy(StrEnum):
    """What takes the heat off the card."""

    FANS = "fans"
    WATER = "water"
    STREAM = "stream"


class Cooling(StrEnum):
    """What the cooling is like."""

    HEALTHY_AIR = "healthy air"
    HEALTHY_LOOP = "healthy loop"
    NO_COOLANT = "no coolant"
    FLOW_LOST = "flow lost"
    FAN_LOST = "fan lost"
    POOR_MOUNT = "poor mount"
    MISSING_PASTE = "missing paste under the hot spot"
    CLOGGED = "clogged"


CANNOT_TELL = "cannot tell yet"
"""Said while no state is probable enough."""

HEALTHY = frozenset({Cooling.HEALTHY_AIR, Cooling.HEALTHY_LOOP})

SUSPECT: dict[Cooling, str] = {
    Cooling.HEALTHY_AIR: "the plan: too much power for this cooler in this room",
    Cooling.HEALTHY_LOOP: "the plan: too much power for this loop in this room",
    Cooling.NO_COOLANT: "water block without coolant",
    Cooling.FLOW_LOST: "pump or a blocked tube",
    Cooling.FAN_LOST: "fan, its plug or its driver",
    Cooling.POOR_MOUNT: "contact between die and cooler",
    Cooling.MISSING_PASTE: "paste under the hot spot",
    Cooling.CLOGGED: "clogged fins, block or radiator",
}

_SUSPECT_IN_STREAM: dict[Cooling, str] = {
    Cooling.HEALTHY_AIR: "the plan: too much power for this stream of air",
    Cooling.FAN_LOST: "the chassis's fans, or a gap that lets the air pass beside the card",
    Cooling.CLOGGED: "clogged fins, or too little air through them",
}

CHECK: dict[Cooling, str] = {
    Cooling.HEALTHY_AIR: "Plan less power, lower the room temperature or raise the fans.",
    Cooling.HEALTHY_LOOP: "Plan less power, or give the loop more radiator.",
    Cooling.NO_COOLANT: "Is a loop attached and filled?",
    Cooling.FLOW_LOST: "Does the pump run, is a tube kinked, is there air in the block?",
    Cooling.FAN_LOST: "Do all fans turn freely, is the fan plug seated?",
    Cooling.POOR_MOUNT: "Are all screws in, is the film off, are the pads of the right height?",
    Cooling.MISSING_PASTE: "Take the cooler off: does the paste reach every corner of the die?",
    Cooling.CLOGGED: "Is there dust in the fins, dirt in the block, air in front of the radiator?",
}

_CHECK_IN_STREAM: dict[Cooling, str] = {
    Cooling.HEALTHY_AIR: "Plan less power, cool the incoming air or raise the chassis's fans.",
    Cooling.FAN_LOST: "Do the chassis's fans turn, does all the air pass through the card?",
    Cooling.CLOGGED: "Is there dust in the fins, is the way of the air open at both ends?",
}


def suspect(state: Cooling, cooled_by: CooledBy | None = None) -> str:
    """The part to suspect."""
    if cooled_by is CooledBy.STREAM and state in _SUSPECT_IN_STREAM:
        return _SUSPECT_IN_STREAM[state]
    return SUSPECT[state]


def check(state: Cooling, cooled_by: CooledBy | None = None) -> str:
    """What to look at."""
    if cooled_by is CooledBy.STREAM and state in _CHECK_IN_STREAM:
        return _CHECK_IN_STREAM[state]
    return CHECK[state]
