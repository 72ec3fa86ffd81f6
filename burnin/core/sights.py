"""Which observations (`Sight`) of a run bear on a failed reading."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from burnin.core.evidence.heat_sights import (
    COOLING,
    SIGNALS,
    cooling_sights,
    fan_sights,
    rest_sights,
    room_sights,
    sensor_sights,
    standing_sights,
    unread_sights,
)
from burnin.core.evidence.link_sights import (
    LINK,
    SPEED,
    WIDTH,
    at_lowest_rate,
    link_sights,
    pad_sights,
    poor_channel,
)
from burnin.core.evidence.model_sights import MODEL, at_own_power, model_sights
from burnin.core.evidence.power_sights import HELD, POWER, power_sights, went_at_full
from burnin.core.evidence.seen import Seen
from burnin.core.evidence.work_sights import (
    KERNEL,
    screen_sights,
    shared_by_screens,
    work_sights,
)
from burnin.core.parties import Sight
from burnin.core.proven_bench import ProvenBench
from burnin.core.reading import Reading, Verdict, reading_subject

_HALF_OR_LESS = 0.55
"""Share of the payload limit from which on a link surely carries the width that it tells."""
_DRIVER_IN_DOUBT = ("card_kept_working", KERNEL, "memory_clock_share")
"""A driver may hang or fault on a bench on which it worked before, and leave the memory of a model
that it has not met there in a low power state."""
LOST = ("whole_run_samples_gone", "card_kept_working", "identity_holds", KERNEL)
"""Readings of a card that was lost."""
NEVER_SHOWED = "card_never_showed"
"""Of a bench on which no card shows at all."""
_UNMENDED = "whole_run_uncorrected_errors"
_GONE = (*LOST[:2], KERNEL)
_SLOWED = ("slowed_for_heat", "whole_run_slowed_samples")
_OF_NO_SLOT = ("outputs_found", *MODEL)
"""What a slot has carried says nothing of these."""
_SCREENS = ("screen_detected", "screen_lost_times")
_OF_PLUG = ("supply_at_plug_v", "drop_at_plug_v", "temp_at_plug_c")
"""That a supply gave a known-good card its power says nothing of the volts at its plug, nor of its
cable's half of the contacts there: only rails that were measured then do."""
_COOLED_WITHIN = 1.05
"""A bench that cooled a known-good card at some power cools one that draws this much more."""
_PICTURE = "picture_seen"
"""A screen and a cable that were proven were proven to be detected: nobody kept how they looked."""


def weighed_as(reading: Reading, seen: Seen) -> Reading:
    """A port counts an uncorrected error as the card leaves it: that is the leaving, told twice."""
    if reading.name == _UNMENDED and seen.on_the_bus is False:
        return replace(reading, name=LOST[0])
    return reading


def sights(reading: Reading, seen: Seen, readings: Sequence[Reading]) -> Iterator[Sight]:
    """What was observed in a run that bears on a failed reading; `readings` are all of the run."""
    head, subject = reading_subject(reading.name)
    bench = seen.bench if isinstance(seen.bench, ProvenBench) else None
    if bench is not None:
        yield from _proven(reading, seen, bench, readings)
    if head in MODEL:
        yield from model_sights(readings)
    if shared_by_screens(reading, readings, seen):
        yield Sight.SHARED_BY_SCREENS
    if at_own_power(reading, readings, seen.power):
        yield Sight.AT_OWN_POWER
    if head in LINK:
        yield from link_sights(head, reading, seen.link)
    if head in LINK or head in LOST or head == NEVER_SHOWED:
        yield from pad_sights(head, reading, seen)
    if reading.verdict is Verdict.NOT_MEASURED:
        yield from unread_sights(head, seen.heat)
    elif head in SIGNALS or head in COOLING:
        yield from _of_heat(head, reading, seen, readings)
    if head in POWER:
        yield from power_sights(reading, seen.power)
    if head in HELD and seen.power.limit_in_force_w is not None:
        yield Sight.HELD_BELOW_OWN
    if head in _GONE and seen.on_the_bus is False and went_at_full(seen.power):
        yield Sight.GONE_AT_FULL_POWER
    if head == "die_stands":
        yield from standing_sights(seen.heat)
    if head == "fan_stood_still_s":
        yield from fan_sights(subject, readings, seen.heat)
    if head == "card_kept_working" and seen.on_the_bus is not None:
        yield Sight.STILL_ON_THE_BUS if seen.on_the_bus else Sight.GONE_FROM_THE_BUS
    if head == KERNEL:
        yield from work_sights(seen, readings, reading.reason)
    if head == "screen_detected":
        yield from screen_sights(reading, readings)
    if head == "copy_share_of_payload_limit" and _at_least(reading.value, _HALF_OR_LESS):
        yield Sight.FULL_WIDTH_CARRIED
    if head == "whole_run_slowed_samples" and seen.power.braked:
        yield Sight.BRAKE_FROM_OUTSIDE


def _of_heat(
    head: str, reading: Reading, seen: Seen, readings: Sequence[Reading]
) -> Iterator[Sight]:
    if head == "core_clock_share_of_own":
        slowed = any(r.verdict is Verdict.FAIL and r.name in _SLOWED for r in readings)
        yield Sight.SLOWED_FOR_HEAT if slowed else Sight.NOT_FOR_HEAT
        if not slowed:
            return
    if head in SIGNALS:
        yield from sensor_sights(head, seen.heat)
        yield from room_sights(reading, seen.heat)
    if head in COOLING:
        yield from cooling_sights(seen.heat)
    if head == "warm_at_rest":
        yield from rest_sights(seen.power)


def _proven(
    reading: Reading, seen: Seen, bench: ProvenBench, readings: Sequence[Reading]
) -> Iterator[Sight]:
    head, output = reading_subject(reading.name)
    if head in COOLING:
        if bench.simulated or _cooled(bench, seen.power.drew_w):
            stopped = seen.heat.turned and not seen.heat.own_fans
            yield Sight.COOLED_AS_IT_WAS if stopped else Sight.COOLING_PROVEN
    elif head in SPEED and at_lowest_rate(reading, seen.link):
        yield Sight.PROVEN_BUT_SET
    elif at_own_power(reading, readings, seen.power):
        pass  # what a slot has carried says nothing of a profile
    elif head not in _OF_NO_SLOT and _slot_proven(head, reading, seen, bench):
        changed = head in LINK and poor_channel(seen.link)
        yield Sight.PROVEN_AS_IT_WAS if changed else Sight.SLOT_PROVEN
    of_rate = head == "copy_share_of_payload_limit"
    if bench.simulated if of_rate else head not in _DRIVER_IN_DOUBT:
        yield Sight.DRIVER_PROVEN
    drew_w = seen.power.drew_w
    supplied = bench.simulated or (drew_w is not None and bench.supplies(drew_w))
    if supplied and (head not in _OF_PLUG or bench.rails):
        held = head in HELD and seen.power.limit_in_force_w is not None
        yield Sight.SUPPLY_PROVEN_BUT_HELD if held else Sight.SUPPLY_PROVEN
    proven = head != _PICTURE and bench.output_proven(output)
    if proven and not shared_by_screens(reading, readings, seen):
        yield Sight.OUTPUT_PROVEN


def _slot_proven(head: str, reading: Reading, seen: Seen, bench: ProvenBench) -> bool:
    lower = reading.limit.lower if reading.limit is not None else None
    asked_lanes = lower if head in WIDTH[:2] else None
    asked_gts = lower if head in SPEED else None
    lanes = asked_lanes if asked_lanes is not None else seen.link.most_lanes
    gts = asked_gts if asked_gts is not None else seen.link.most_gts
    if head == "copy_share_of_payload_limit" and not bench.simulated and bench.to_card_gbs is None:
        return False
    return bench.simulated or bench.carries(lanes, gts)


def _cooled(bench: ProvenBench, drew_w: float | None) -> bool:
    return (
        bench.cooled_w is not None
        and drew_w is not None
        and drew_w <= _COOLED_WITHIN * bench.cooled_w
    )


def _at_least(value: float | str | None, least: float) -> bool:
    return isinstance(value, int | float) and value >= least
