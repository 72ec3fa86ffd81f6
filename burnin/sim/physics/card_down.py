"""Why a simulated card is not on the bus: known to the machine, told to nobody who reads it."""

from __future__ import annotations

from enum import Enum, auto


class CardDown(Enum):
    """What keeps the card from starting, or took it off the bus until the power is cycled."""

    NO_RESET = auto()
    NO_CLOCK = auto()
    TWELVE_VOLTS_SHORTED = auto()
    THREE_VOLTS_SHORTED = auto()
    NO_TWELVE_VOLTS = auto()
    NO_THREE_VOLTS = auto()
    TWELVE_VOLTS_SAG = auto()
    NOT_SEEN_BY_SLOT = auto()
    NO_PLUG_SENSED = auto()
    NO_LANE_TRAINS = auto()
    FELL_OFF_UNDER_LOAD = auto()
    FELL_OFF_WARM = auto()
    SHUT_ITSELF_DOWN = auto()
