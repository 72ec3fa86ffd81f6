"""Sights of heat: what sensors, fans, the course of a temperature and the room tell."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from burnin.core.evidence.seen import HeatSeen, PowerSeen
from burnin.core.parties import Sight
from burnin.core.reading import Reading, Verdict

_REST_OVER_OTHERS_K = {"gpu_temp_c": 15.0, "hotspot_temp_c": 10.0, "memory_temp_c": 20.0}
"""How far a sensor may read above the coolest other one at rest and still agree (practice)."""
_OFF_OVER_OTHERS_K = {"gpu_temp_c": 25.0, "hotspot_temp_c": 15.0, "memory_temp_c": 30.0}
"""From where on it does not."""
_REST_ALONE_C = 55.0
"""A lone sensor that reads more than this at rest is in doubt."""
_ROOM_OF_LIMITS_C = 30.0
"""The warmest room that limits of temperature are made for (common practice, no source)."""
_USUAL_ROOM_C = 25.0
"""The room in which they are mostly set: a warm one adds what it lies above that, at the most."""
_UNDER_OWN_HOT_SPOT_K = 5.0
"""The hot spot is the hottest place of the die: a die that reads so far above it reads wrongly."""
_FOLLOWED_K = 5.0
_STOOD_K = 1.5
_IDLE_AT_MOST_W = 60.0
"""No card at rest draws more unless something keeps its clocks up (estimate)."""
_SCATTERS_FROM = 3
"""Leaps that came back within a second and a half, which no heat does (estimate)."""
SIGNALS = {
    "gpu_temp_max_c": ("gpu_temp_c",),
    "gpu_rise_k": ("gpu_temp_c",),
    "hotspot_temp_max_c": ("hotspot_temp_c",),
    "hotspot_delta_max_k": ("hotspot_temp_c", "gpu_temp_c"),
    "memory_temp_max_c": ("memory_temp_c",),
    "slowed_for_heat": ("gpu_temp_c",),
    "whole_run_slowed_samples": ("gpu_temp_c",),
    "core_clock_share_of_own": ("gpu_temp_c",),
    "warm_at_rest": ("gpu_temp_c",),
}
"""Sensors on which a reading stands, the first one foremost."""
COOLING = (
    *(name for name in SIGNALS if name != "hotspot_delta_max_k"),
    *("cooling_state", "block_to_coolant_k_per_w", "block_to_room_k_per_w"),
)
"""Readings that the bench's own cooling (its loop, its stream of air) can spoil."""


def sensor_sights(head: str, heat: HeatSeen) -> Iterator[Sight]:
    """Whether the sensors of a reading can be right."""
    told_by = SIGNALS[head]
    scatters = any(heat.scattered.get(name, 0) >= _SCATTERS_FROM for name in told_by)
    leapt = any(name in heat.leapt for name in told_by)
    if scatters:
        yield Sight.SENSOR_SCATTERS
    if leapt:
        yield Sight.SENSOR_LEAPT
    passed = head == "hotspot_delta_max_k" and heat.difference_passed
    if passed:
        yield Sight.DIFFERENCE_PASSED
    found = _at_rest(told_by[0], heat)
    in_doubt = scatters or leapt or passed
    if found is Sight.SENSOR_OFF_AT_REST or (found is not None and not in_doubt):
        yield found


def _at_rest(signal: str, heat: HeatSeen) -> Sight | None:
    rest, most = heat.rest_c.get(signal), heat.most_c.get(signal)
    if rest is None or most is None:
        return None
    others = [value for name, value in heat.rest_c.items() if name != signal]
    follows = most - rest >= _FOLLOWED_K
    spot = heat.rest_c.get("hotspot_temp_c", rest)
    if signal == "gpu_temp_c" and rest - spot > _UNDER_OWN_HOT_SPOT_K:
        return Sight.SENSOR_OFF_AT_REST
    if not others:
        if rest > _REST_ALONE_C:
            return Sight.SENSOR_OFF_AT_REST
        return Sight.SENSORS_AGREE if follows else None
    over_k = rest - min(others)
    if over_k > _OFF_OVER_OTHERS_K[signal]:
        return Sight.SENSOR_OFF_AT_REST
    return Sight.SENSORS_AGREE if over_k <= _REST_OVER_OTHERS_K[signal] and follows else None


def room_sights(reading: Reading, heat: HeatSeen) -> Iterator[Sight]:
    """A card at rest is never cooler than its room: what the room can add is bounded by it."""
    if not heat.rest_c:
        return
    rest_c = min(heat.rest_c.values())
    upper = reading.limit.upper if reading.limit is not None else None
    warm = rest_c > _ROOM_OF_LIMITS_C + 3.0
    adds_k = rest_c - _USUAL_ROOM_C
    over_k = None
    if isinstance(reading.value, int | float) and upper is not None:
        over_k = reading.value - upper
    if not warm or (reading.unit == "°C" and over_k is not None and over_k > adds_k):
        yield Sight.ROOM_TOO_LITTLE
    elif rest_c > _ROOM_OF_LIMITS_C + 10.0:
        yield Sight.ROOM_WARM


def cooling_sights(heat: HeatSeen) -> Iterator[Sight]:
    """Whether the card cools itself, and whether its heat came to rest.

    A block without coolant is a capacity without a way out: its temperature goes on rising. A poor
    mount adds its kelvin at once, and then the die stands.
    """
    yield Sight.OWN_FANS if heat.own_fans else Sight.NO_OWN_FANS
    if heat.turned:
        yield Sight.HEAT_TURNED
    elif heat.keeps_rising is not None:
        yield Sight.KEEPS_RISING if heat.keeps_rising else Sight.CAME_TO_REST


def rest_sights(power: PowerSeen) -> Iterator[Sight]:
    """Of a card that does not cool down at rest: whether it works on all the same."""
    if power.rest_w is not None and power.rest_w > _IDLE_AT_MOST_W and not power.without_heat:
        yield Sight.BUSY_AT_REST


def standing_sights(heat: HeatSeen) -> Iterator[Sight]:
    """Of a die that did not answer to power: whether the others beside it did."""
    rises = {name: most - heat.rest_c.get(name, most) for name, most in heat.most_c.items()}
    die = rises.pop("gpu_temp_c", None)
    if die is not None and die <= _STOOD_K and any(k >= _FOLLOWED_K for k in rises.values()):
        yield Sight.OTHERS_FOLLOWED


def fan_sights(fan: str, readings: Sequence[Reading], heat: HeatSeen) -> Iterator[Sight]:
    """Of a fan that was told as standing: whether it ran down, and whether the heat followed.

    `fan`: its number from 1; empty: the first.
    """
    if int(fan or "1") in heat.ran_down:
        yield Sight.FAN_RAN_DOWN
        return
    hot = any(r.verdict is Verdict.FAIL and r.name in SIGNALS for r in readings)
    yield Sight.HEAT_FOLLOWED if hot or heat.turned else Sight.STAYED_COOL


def unread_sights(head: str, heat: HeatSeen) -> Iterator[Sight]:
    """Of a value that is not told: whether others of the same driver were."""
    own = SIGNALS.get(head)
    others = any(name not in own for name in heat.most_c) if own else _any_rose(heat)
    if others:
        yield Sight.ONE_UNREAD


def _any_rose(heat: HeatSeen) -> bool:
    """Whether a temperature followed the load: then whoever reads the sensors was there."""
    return any(
        most_c - heat.rest_c.get(name, most_c) >= _FOLLOWED_K
        for name, most_c in heat.most_c.items()
    )
