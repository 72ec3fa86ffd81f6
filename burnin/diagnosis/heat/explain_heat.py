"""Which part of a cooler explains how warm a card got: by resistances, fans, room and time.

Resistances are compared with what known-good cards of the kind showed, or, without any, by the
rise that they make at the card's power: sound coolers of any size make about the same one. Each
cause moves some of the numbers; the chances are beliefs (the physics of a series of resistances,
fact sheet of heat; common practice at a bench, no source), and what nobody thought of is spread
wider than all of them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum


class HeatCause(StrEnum):
    """What may be wrong with the cooling of a card."""

    SOUND = "sound"
    MOUNT = "mount"
    PASTE = "paste in part"
    FINS = "fins"
    FLOW = "flow"
    FAN = "fan"
    ROOM = "room"
    DRY = "pump dry"
    SENSOR = "sensor"
    ELSE = "something else"


@dataclass(frozen=True)
class Estimate:
    """A resistance in K/W with its standard uncertainty; of known-good cards, with their spread."""

    k_per_w: float
    u_k_per_w: float


@dataclass(frozen=True)
class HeatLook:
    """What a ramp told of a cooler; None where it was not read.

    `rises_of`: resistances by name (die_to_block, block_to_room, die_to_hotspot), `known_good` the
    same of known-good cards; `power_w` and `gpu_c` at the hottest step; `fans_rpm` of all fans at
    that step; `room_c` as measured; `slowness`: time to 95 % over what resistance and capacity
    account for; `said`: what the ramp's own model of the cooling held for true, and how surely;
    `fan_stood`: a fan stood still for longer than a profile allows although it was asked to turn.
    """

    power_w: float
    gpu_c: float
    resistances: Mapping[str, Estimate]
    known_good: Mapping[str, Estimate]
    fans_rpm: tuple[float, ...] = ()
    room_c: float | None = None
    slowness: float | None = None
    water: bool = False
    hotspot_over_gpu_k: float | None = None
    said: tuple[HeatCause, float] | None = None
    fan_stood: bool = False


@dataclass(frozen=True)
class HeatSuspect:
    """A cause with its probability."""

    cause: HeatCause
    probability: float


_WEIGHTS = {
    HeatCause.SOUND: 0.28, HeatCause.MOUNT: 0.08, HeatCause.PASTE: 0.10, HeatCause.FINS: 0.08,
    HeatCause.FLOW: 0.09, HeatCause.FAN: 0.09, HeatCause.ROOM: 0.08, HeatCause.DRY: 0.05,
    HeatCause.SENSOR: 0.09, HeatCause.ELSE: 0.06,
}  # fmt: skip
_SPREAD = 0.10
"""Spread of sound coolers of one kind, in logarithms."""
_NO_HISTORY = {"die_to_block": 0.34, "block_to_room": 0.23, "die_to_hotspot": 0.27}
"""Spread of the rise at full power over sound coolers of any kind (estimate)."""
_LOWERED = {"die_to_block": (-2.0, 0.7), "block_to_room": (0.8, 0.3), "die_to_hotspot": (-2.0, 0.7)}
"""A dry pump lowers the power so far that the rises at full power are never seen."""
_RISE_K = {"die_to_block": 19.0, "block_to_room": 29.0, "die_to_hotspot": 10.7}
"""Rise of a sound cooler at full power (estimate)."""
_MOVES: dict[HeatCause, dict[str, tuple[float, float]]] = {
    HeatCause.MOUNT: {"die_to_block": (1.0, 0.40), "die_to_hotspot": (0.38, 0.25)},
    HeatCause.PASTE: {"die_to_block": (0.15, 0.14), "die_to_hotspot": (0.80, 0.28)},
    HeatCause.FINS: {"block_to_room": (0.52, 0.22)},
    HeatCause.FLOW: {"block_to_room": (0.52, 0.25)},
    HeatCause.FAN: {"block_to_room": (0.40, 0.45)},
    HeatCause.DRY: {"block_to_room": (3.0, 0.7)},
    HeatCause.SENSOR: {"die_to_block": (0.0, 1.3), "die_to_hotspot": (0.7, 0.8)},
    HeatCause.ELSE: {
        "die_to_block": (0.0, 0.3), "block_to_room": (0.1, 0.5), "die_to_hotspot": (0.0, 0.35),
    },
}  # fmt: skip
"""By how much, in logarithms, and with what spread a cause moves a resistance."""
_SLOW = {HeatCause.FLOW: ((0.8, 0.45, 0.65), (0.0, 0.12, 0.35))}
_ROOM_C = {HeatCause.ROOM: (36.5, 3.5)}
_SOUND_ROOM_C = (22.0, 3.6)
_FAN_LOW = {HeatCause.FAN: 0.60, HeatCause.SENSOR: 0.22, HeatCause.ELSE: 0.10}
_FAN_LOW_ELSE = 0.02
_FAN_STOOD = {HeatCause.FAN: 0.6, HeatCause.SENSOR: 0.04, HeatCause.ELSE: 0.02}
_FAN_STOOD_ELSE = 0.002
_RPM, _RPM_SLOW = (math.log(2900.0), 0.32), (math.log(1450.0), 0.35)
"""Fastest fan at the hottest step: as it should be, and where fans turn slowly (estimate)."""
_WARM_C = 68.0
_TAIL, _WIDER = 0.04, 4.0


def explain_heat(look: HeatLook) -> tuple[HeatSuspect, ...]:
    """Causes of what a ramp told, most probable first; they add up to 1."""
    mass = {cause: math.log(_weight(cause, look)) + _fits(cause, look) for cause in _WEIGHTS}
    most = max(mass.values())
    chance = {cause: math.exp(value - most) for cause, value in mass.items()}
    whole = sum(chance.values())
    found = [HeatSuspect(cause, value / whole) for cause, value in chance.items()]
    return tuple(sorted(found, key=lambda suspect: -suspect.probability))


def _weight(cause: HeatCause, look: HeatLook) -> float:
    """On water no fin clogs and no pump runs dry in air."""
    if cause is HeatCause.DRY and not look.water:
        return 1e-4
    if cause is HeatCause.FINS and look.water:
        return 1e-3
    return _WEIGHTS[cause]


def _fits(cause: HeatCause, look: HeatLook) -> float:
    """Logarithm of the probability of all that was read, by one cause."""
    moves = _MOVES.get(cause, {})
    found = 0.0
    for name, estimate in look.resistances.items():
        mean, spread = moves.get(name, (0.0, 0.0))
        if cause is HeatCause.FAN and look.water and name == "block_to_room":
            mean, spread = 1.0, 0.5
        found += _resistance(look, name, estimate, mean, spread, cause)
    if look.slowness is not None and look.slowness > 0.0:
        parts = _SLOW.get(cause, ((0.0, 0.12, 1.0),))
        found += math.log(sum(w * _bell(math.log(look.slowness), m, s) for m, s, w in parts))
    found += _room(cause, look)
    if look.fan_stood:
        found += math.log(_FAN_STOOD.get(cause, _FAN_STOOD_ELSE))
    return found + _fans(cause, look) + _hotspot(cause, look) + _word(cause, look)


def _word(cause: HeatCause, look: HeatLook) -> float:
    """The word of the ramp's own model: it saw the whole course, and may be wrong all the same."""
    if look.said is None:
        return 0.0
    said, sure = look.said
    return math.log(0.1 + 0.85 * sure if cause is said else 0.06 + 0.04 * (1.0 - sure))


def _resistance(
    look: HeatLook, name: str, estimate: Estimate, mean: float, spread: float, cause: HeatCause
) -> float:
    if estimate.k_per_w <= 0.0 or look.power_w <= 0.0:
        return math.log(0.5 if cause is HeatCause.SENSOR else 0.005)
    known = look.known_good.get(name)
    reading_u = estimate.u_k_per_w / estimate.k_per_w
    if known is not None and known.k_per_w > 0.0:
        value = math.log(estimate.k_per_w / known.k_per_w)
        own = math.hypot(_SPREAD, known.u_k_per_w / known.k_per_w)
    else:
        value = math.log(estimate.k_per_w * look.power_w / _RISE_K[name])
        own = _NO_HISTORY[name]
        if cause is HeatCause.DRY:
            mean, spread = _LOWERED[name]
    return math.log(_bell(value, mean, math.hypot(math.hypot(own, reading_u), spread)))


def _room(cause: HeatCause, look: HeatLook) -> float:
    """The room as measured, else where the course of the die ends at no power."""
    mean, spread = _ROOM_C.get(cause, _SOUND_ROOM_C)
    if look.room_c is not None:
        return math.log(_bell(look.room_c, mean, spread))
    parts = [look.resistances.get(name) for name in ("die_to_block", "block_to_room")]
    if None in parts:
        return 0.0
    at_rest_c = look.gpu_c - look.power_w * sum(p.k_per_w for p in parts if p is not None)
    return math.log(_bell(at_rest_c, mean, math.hypot(spread, 2.0)))


def _fans(cause: HeatCause, look: HeatLook) -> float:
    """A fan that stands, or turns clearly slower than the fastest."""
    if not look.fans_rpm:
        return 0.0
    most = max(look.fans_rpm)
    low = most <= 0.0 or min(look.fans_rpm) < 0.75 * most
    if look.water and most <= 0.0:
        return math.log({HeatCause.DRY: 0.5, HeatCause.FLOW: 0.1}.get(cause, 0.02))
    chance = _FAN_LOW.get(cause, _FAN_LOW_ELSE)
    if len(look.fans_rpm) == 1:
        chance *= 0.5
    found = math.log(chance if low else 1.0 - chance)
    if most > 0.0 and not low and not look.water and look.gpu_c > _WARM_C:
        mean, spread = _RPM_SLOW if cause is HeatCause.FAN else _RPM
        found += math.log(_bell(math.log(most), mean, spread))
    return found


def _hotspot(cause: HeatCause, look: HeatLook) -> float:
    """A hot spot below the mean of its die is a sensor's word, not a temperature."""
    if look.hotspot_over_gpu_k is None:
        return 0.0
    below = look.hotspot_over_gpu_k < -1.0
    chance = 0.3 if cause is HeatCause.SENSOR else 0.0005
    return math.log(chance if below else 1.0 - chance)


def _bell(value: float, mean: float, spread: float) -> float:
    """Density of a bell with tails wider than a normal one's."""

    def normal(sd: float) -> float:
        return math.exp(-0.5 * ((value - mean) / sd) ** 2) / (sd * math.sqrt(2.0 * math.pi))

    return (1.0 - _TAIL) * normal(spread) + _TAIL * normal(_WIDER * spread) + 1e-12


def told(suspects: Sequence[HeatSuspect], least: float = 0.02) -> tuple[HeatSuspect, ...]:
    """Those worth telling; none where nothing is wrong."""
    if suspects and suspects[0].cause is HeatCause.SOUND:
        return ()
    return tuple(s for s in suspects if s.probability >= least)
