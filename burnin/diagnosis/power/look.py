"""What a card's steps of power, its limits, a meter and the ticket told of its supply."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True)
class PowerStep:
    """One step of load: what was asked and what came.

    `power_w` of the whole card; `plug_v` at its power plug; `slot_v`, `slot_w` at 12 V of the
    slot; None where the card does not tell. `throttle`: its own words for why it held back.
    """

    asked_w: float
    power_w: float
    plug_v: float | None = None
    slot_v: float | None = None
    slot_w: float | None = None
    throttle: tuple[str, ...] = ()


@dataclass(frozen=True)
class KnownGood:
    """A resistance in milliohm of known-good cards: mean, standard deviation, how many cards."""

    mean_mohm: float
    sd_mohm: float
    count: int


@dataclass(frozen=True)
class PowerLook:
    """All that was read of a card's supply; None, or empty, where it was not read.

    `plug`: 6pin, 8pin or 12v2x6 (connectors.toml). `sensed_limit_w`: what the sense lines tell the
    card that it may take from the plug. `meter_ohm`: before power, by point: a supply contact to
    the rail behind it, a sense contact or supply_12v to ground; None is an open line, of ohms or
    of a diode reading. `absent`: the card never came up.
    """

    plug: str | None = None
    limit_w: float | None = None
    default_limit_w: float | None = None
    sensed_limit_w: float | None = None
    steps: tuple[PowerStep, ...] = ()
    known_good_plug: KnownGood | None = None
    known_good_slot: KnownGood | None = None
    meter_ohm: Mapping[str, float | None] = field(default_factory=dict)
    damaged: tuple[str, ...] = ()
    repaired: tuple[str, ...] = ()
    absent: bool = False


POWER_LIMIT, SUPPLY_BRAKE = "power limit", "supply brake"
"""Words for holding back: at a limit of power, or because the supply asked for it."""
