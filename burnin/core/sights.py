"""What a run observed, and which observations (`Sight`) bear on a failed reading."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from burnin.core.parties import Sight
from burnin.core.proven_bench import BenchShown, ProvenBench
from burnin.core.reading import Reading, Verdict, reading_subject

_REST_OVER_OTHERS_K = {"gpu_temp_c": 15.0, "hotspot_temp_c": 10.0, "memory_temp_c": 20.0}
"""How far a sensor may read above the coolest other one at rest and still agree (practice)."""
_OFF_OVER_OTHERS_K = {"gpu_temp_c": 25.0, "hotspot_temp_c": 15.0, "memory_temp_c": 30.0}
"""From where on it does not."""
_REST_ALONE_C = 55.0
"""A lone sensor that reads more than this at rest is in doubt."""
_ROOM_OF_LIMITS_C = 30.0
"""The warmest room that limits of temperature are made for (common practice, no source)."""
_MANY_LANES = 3
_HALF_OR_LESS = 0.55
"""Share of the payload limit from which on a link surely carries the width that it tells."""
_DRIVER_IN_DOUBT = ("card_kept_working", "whole_run_kernel_log")
"""A driver may hang or fault on a bench on which it worked before."""
_SIGNALS = {
    "gpu_temp_max_c": "gpu_temp_c",
    "gpu_rise_k": "gpu_temp_c",
    "hotspot_temp_max_c": "hotspot_temp_c",
    "hotspot_delta_max_k": "hotspot_temp_c",
    "memory_temp_max_c": "memory_temp_c",
    "slowed_for_heat": "gpu_temp_c",
    "whole_run_slowed_samples": "gpu_temp_c",
}
_LINK = ("link_width_lanes", "link_speed_gts", "whole_run_width_lanes", "whole_run_speed_gts")
_LINK_ERRORS = (
    *("new_link_errors", "uncorrected_link_errors", "lanes_with_new_errors"),
    *("error_rate_per_lane", "link_errors"),
    *("whole_run_errors_in_traffic", "whole_run_errors_beside_traffic"),
)


@dataclass(frozen=True)
class LinkSeen:
    """What both ends of the link told in a run.

    `errors`: damaged packets and link messages by the end that saw them; `lanes`: lanes with new
    error bits by end; both without a key where they were not read. `most_lanes`, `most_gts`: the
    most that was seen.
    `lowered_by_system`: the port calls a lower speed a wish of system or card, and no end saw
    errors. `target_gts`: what the port's set-up asks for. `fell_warm`: it fell only when warm.
    """

    errors: Mapping[str, int] = field(default_factory=dict)
    lanes: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    most_lanes: float | None = None
    most_gts: float | None = None
    lowered_by_system: bool = False
    target_gts: float | None = None
    fell_warm: bool = False


@dataclass(frozen=True)
class Seen:
    """What a run observed that tells one party from another.

    `rest_c` and `most_c`: each temperature at rest before the first load, and its highest value.
    `drew_w`: the most power seen. `on_the_bus`: whether the card answered last. `braked`: the card
    was slowed by a signal from outside.
    """

    bench: BenchShown | None = None
    link: LinkSeen = LinkSeen()
    rest_c: Mapping[str, float] = field(default_factory=dict)
    most_c: Mapping[str, float] = field(default_factory=dict)
    drew_w: float | None = None
    on_the_bus: bool | None = None
    braked: bool = False


def sights(reading: Reading, seen: Seen, readings: Sequence[Reading]) -> Iterator[Sight]:
    """What was observed in a run that bears on a failed reading."""
    head, subject = reading_subject(reading.name)
    bench = seen.bench if isinstance(seen.bench, ProvenBench) else None
    if bench is not None:
        yield from _proven(head, subject, reading, seen, bench)
    if head in (*_LINK, *_LINK_ERRORS, "failed_starts"):
        yield from _link_sights(head, reading, seen.link)
    if head in _SIGNALS:
        yield from _sensor_sights(_SIGNALS[head], seen)
        yield from _room_sights(reading, seen)
    if head == "fan_stood_still_s":
        hot = any(r.verdict is Verdict.FAIL and r.name in _SIGNALS for r in readings)
        yield Sight.HEAT_FOLLOWED if hot else Sight.STAYED_COOL
    if head == "card_kept_working" and seen.on_the_bus is not None:
        yield Sight.STILL_ON_THE_BUS if seen.on_the_bus else Sight.GONE_FROM_THE_BUS
    if head == "screen_detected":
        yield from _screen_sights(readings)
    if head == "copy_share_of_payload_limit" and _at_least(reading.value, _HALF_OR_LESS):
        yield Sight.FULL_WIDTH_CARRIED
    if head == "whole_run_slowed_samples" and seen.braked:
        yield Sight.BRAKE_FROM_OUTSIDE


def _proven(
    head: str, output: str, reading: Reading, seen: Seen, bench: ProvenBench
) -> Iterator[Sight]:
    lower = reading.limit.lower if reading.limit is not None else None
    asked_lanes = lower if head in ("link_width_lanes", "whole_run_width_lanes") else None
    asked_gts = lower if head in ("link_speed_gts", "whole_run_speed_gts") else None
    lanes = asked_lanes if asked_lanes is not None else seen.link.most_lanes
    gts = asked_gts if asked_gts is not None else seen.link.most_gts
    of_rate = head == "copy_share_of_payload_limit"
    rates_known = bench.simulated or bench.to_card_gbs is not None
    if (rates_known if of_rate else True) and (bench.simulated or bench.carries(lanes, gts)):
        yield Sight.SLOT_PROVEN
    if bench.simulated if of_rate else head not in _DRIVER_IN_DOUBT:
        yield Sight.DRIVER_PROVEN
    if bench.simulated or (seen.drew_w is not None and bench.supplies(seen.drew_w)):
        yield Sight.SUPPLY_PROVEN
    if bench.output_proven(output):
        yield Sight.OUTPUT_PROVEN


def _link_sights(head: str, reading: Reading, link: LinkSeen) -> Iterator[Sight]:
    speed = head in ("link_speed_gts", "whole_run_speed_gts")
    lower = reading.limit.lower if reading.limit is not None else None
    if speed and lower is not None and link.target_gts is not None and link.target_gts < lower:
        yield Sight.HELD_BY_PORT
    if speed and link.lowered_by_system:
        yield Sight.LOWERED_BY_SYSTEM
    most = link.most_gts if speed else link.most_lanes
    if head in _LINK and lower is not None and most is not None:
        yield Sight.FULL_BEFORE if most >= lower else Sight.LOW_FROM_THE_START
    if link.fell_warm:
        yield Sight.WARM_ONLY
    at = {end for end, count in link.errors.items() if count}
    at |= {end for end, lanes in link.lanes.items() if lanes}
    if at == {"card", "port"}:
        yield Sight.ERRORS_AT_BOTH_ENDS
    elif at == {"card"}:
        yield Sight.ERRORS_AT_CARD
    elif at == {"port"}:
        yield Sight.ERRORS_AT_PORT
    elif link.errors and head in _LINK:
        yield Sight.CLEAN_BUT_SLOW if speed else Sight.NO_ERRORS
    lanes = {lane for found in link.lanes.values() for lane in found}
    if len(lanes) == 1:
        yield Sight.ONE_LANE
    elif len(lanes) >= _MANY_LANES:
        yield Sight.MANY_LANES


def _sensor_sights(signal: str, seen: Seen) -> Iterator[Sight]:
    rest, most = seen.rest_c.get(signal), seen.most_c.get(signal)
    if rest is None or most is None:
        return
    others = [value for name, value in seen.rest_c.items() if name != signal]
    follows = most - rest >= 5.0
    if not others:
        if rest > _REST_ALONE_C:
            yield Sight.SENSOR_OFF_AT_REST
        elif follows:
            yield Sight.SENSORS_AGREE
        return
    over_k = rest - min(others)
    if over_k > _OFF_OVER_OTHERS_K[signal]:
        yield Sight.SENSOR_OFF_AT_REST
    elif over_k <= _REST_OVER_OTHERS_K[signal] and follows:
        yield Sight.SENSORS_AGREE


def _room_sights(reading: Reading, seen: Seen) -> Iterator[Sight]:
    """A card at rest is never cooler than its room: what the room can add is bounded by it."""
    if not seen.rest_c:
        return
    rest_c = min(seen.rest_c.values())
    upper = reading.limit.upper if reading.limit is not None else None
    adds_k = max(0.0, rest_c - _ROOM_OF_LIMITS_C - 3.0)
    over_k = None
    if isinstance(reading.value, int | float) and upper is not None:
        over_k = reading.value - upper
    if adds_k == 0.0 or (reading.unit == "°C" and over_k is not None and over_k > adds_k):
        yield Sight.ROOM_TOO_LITTLE
    elif rest_c > _ROOM_OF_LIMITS_C + 10.0:
        yield Sight.ROOM_WARM


def _at_least(value: float | str | None, least: float) -> bool:
    return isinstance(value, int | float) and value >= least


def _screen_sights(readings: Sequence[Reading]) -> Iterator[Sight]:
    found = [r for r in readings if reading_subject(r.name)[0] == "screen_detected"]
    good = [r for r in found if r.verdict is Verdict.PASS]
    if good:
        yield Sight.OTHER_SCREENS_GOOD
    elif len(found) > 1:
        yield Sight.ALL_SCREENS_DARK
