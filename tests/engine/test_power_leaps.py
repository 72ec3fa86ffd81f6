"""A card that wakes under work leaps in power; the hold brings it down within a second."""

from __future__ import annotations

import pytest

from burnin.engine.power_hold import PowerHold

IDLE_W, ASLEEP_W, AWAKE_W = 80.0, 100.0, 640.0
"""Rise over rest by full work before and after it has woken: as seen on a real card of 700 W."""
WAKES_AFTER_S = 0.6
"""Seconds of full work, or of as much by shares, until it wakes."""
REFRESH_S, STEP_S = 0.1, 0.05


def course(target_w: float, seconds: float) -> list[float]:
    """Mean power of each refresh of the counter, W."""
    hold = PowerHold(target_w, idle_w=IDLE_W)
    energy_j = shown_j = worked_s = share = 0.0
    powers: list[float] = []
    for n in range(round(seconds / STEP_S)):
        share = hold.update(n * STEP_S, None, shown_j)
        rise_w = ASLEEP_W if worked_s < WAKES_AFTER_S else AWAKE_W
        power_w = IDLE_W + rise_w * share
        worked_s += share * STEP_S
        energy_j += power_w * STEP_S
        if n % round(REFRESH_S / STEP_S) == 1:
            powers.append((energy_j - shown_j) / REFRESH_S)
            shown_j = energy_j
    return powers


@pytest.mark.parametrize("target_w", [200.0, 300.0, 450.0])
def test_a_leap_lasts_no_second(target_w: float) -> None:
    powers = course(target_w, 30.0)
    seconds = [sum(powers[n:n + 10]) / 10 for n in range(len(powers) - 10)]
    assert max(seconds) < 1.35 * target_w
    assert max(powers) > 1.2 * target_w or target_w > 400.0, "the leap came"
    assert powers[-1] == pytest.approx(target_w, rel=0.02)
