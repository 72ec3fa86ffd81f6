"""Sights of power: whether its sensor can be right, beside the energy counter and the heat."""

from __future__ import annotations

from collections.abc import Iterator

from burnin.core.evidence.seen import PowerSeen
from burnin.core.parties import Sight
from burnin.core.reading import Reading

POWER = ("power_w", "power_held_w", "power_over", "whole_run_power_of_counter")
HELD = ("power_w", "power_held_w", "core_clock_share_of_own", "whole_run_clock_share")
"""Readings that a limit in force below the card's own can spoil."""
_FULL = 0.9
"""Share of the most that a card drew from which on it draws all that it can (practice)."""
AGREES_WITHIN = 0.15
"""Share by which the power told may differ from that of the energy counter (estimate)."""
_AT_LIMIT_WITHIN = 0.03


def power_sights(reading: Reading, power: PowerSeen) -> Iterator[Sight]:
    """What speaks for and against the sensor, and for a limit that the card itself names."""
    if power.stands:
        yield Sight.POWER_STANDS
    if power.impossible:
        yield Sight.POWER_IMPOSSIBLE
    if power.without_heat:
        yield Sight.POWER_WITHOUT_HEAT
    told = power.of_counter
    disagrees = told is not None and abs(told - 1.0) > AGREES_WITHIN
    if disagrees:
        yield Sight.COUNTER_DISAGREES
    limit_w = power.limit_in_force_w
    if limit_w is None or power.stands or power.impossible or disagrees:
        return
    if isinstance(reading.value, int | float) and (
        abs(reading.value - limit_w) <= _AT_LIMIT_WITHIN * limit_w
    ):
        yield Sight.AT_LIMIT_IN_FORCE


def went_at_full(power: PowerSeen) -> bool:
    """Whether the card drew all that it ever did when it was last seen."""
    return power.last_share is not None and power.last_share >= _FULL
