"""The change detector: silent on white residuals, quick on a shift."""

from __future__ import annotations

import random

import pytest

from burnin.thermal.change_detector import ALARM, BOUND, Cusum, run_length


def test_silent_over_three_hours_of_white_residuals() -> None:
    noise = random.Random(4)
    cusum = Cusum()
    assert not any(cusum.add(noise.gauss(0.0, 1.0)) for _ in range(10_800))


def test_sees_a_shift_of_one_deviation_about_when_designed() -> None:
    noise = random.Random(5)
    delays = []
    for _ in range(200):
        cusum = Cusum()
        count = 1
        while not cusum.add(noise.gauss(1.0, 1.0)):
            count += 1
        delays.append(count)
    assert sum(delays) / len(delays) == pytest.approx(run_length(ALARM, shift=1.0), rel=0.1)


def test_one_wild_residual_never_alarms() -> None:
    cusum = Cusum()
    assert not cusum.add(1e6)
    assert cusum.sum <= BOUND


def test_onset_is_where_the_sum_left_zero() -> None:
    cusum = Cusum()
    for _ in range(7):
        cusum.add(-1.0)
    cusum.add(2.0)
    cusum.add(2.0)
    assert cusum.onset == 7


@pytest.mark.parametrize(("allowance", "alarm"), [(-0.1, 5.0), (0.5, 0.0)])
def test_refuses_absurd_settings(allowance: float, alarm: float) -> None:
    with pytest.raises(ValueError, match="allowance"):
        Cusum(allowance, alarm)
