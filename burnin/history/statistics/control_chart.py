"""A chart that sums small deviations until they cannot be chance any more, and its run lengths.

Page's cumulative sums (1954), both sides: up += z - k, down += -z - k, neither below 0; k is half
of the shift that is looked for, in standard deviations. How long such a chart runs without an alarm
is worked out by the Markov chain of Brook and Evans (1972), both sides together as Kemp (1961):
1/ARL = 1/ARL(up) + 1/ARL(down). Relations from memory; tests/history/test_control_chart.py compares
with the tables of the NIST/SEMATECH e-Handbook, 6.3.2.3.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

_STATES = 120
SHIFT_SD = 0.5
"""Shift that the chart of a bench is made for."""
REFERENCE = SHIFT_SD / 2.0
"""k of the chart."""
RUN_LENGTH = 1000.0
"""Values between two alarms by chance, on the average, at the chart's limit."""
LIMIT = 9.935
"""The chart's limit, at which `average_run_length` is that; a test holds them together."""


@cache
def average_run_length(reference: float, limit: float, shift: float = 0.0) -> float:
    """Values until an alarm of the chart with both sides, after a shift in standard deviations."""
    up, down = (_one_side(reference, limit, s) for s in (shift, -shift))
    return 1.0 / (1.0 / up + 1.0 / down)


def chance_of_reaching(peak: float, count: int, reference: float = REFERENCE) -> float:
    """At most how likely a chart without any shift reaches `peak` within `count` values."""
    if peak <= 0.0:
        return 1.0
    steps = _steps(reference, peak, 0.0)
    there = np.zeros(len(steps))
    there[0] = 1.0
    for _ in range(count):
        there = there @ steps
    return float(min(1.0, 2.0 * (1.0 - there.sum())))


@dataclass(frozen=True)
class Course:
    """A chart of standardised values: the higher of both sides at each, its peak, and since when.

    `side` is 1 where values rose, -1 where they fell. `since` is the place of the first value of
    the climb to the peak.
    """

    sums: tuple[float, ...]
    peak: float
    at: int
    since: int
    side: int


def course(values: Sequence[float], reference: float = REFERENCE) -> Course:
    """Sum values up on both sides."""
    sums: list[float] = []
    peak, at, since, side = 0.0, 0, 0, 1
    sides = {1: (0.0, 0), -1: (0.0, 0)}
    for place, value in enumerate(values):
        for way, (total, begun) in sides.items():
            risen = max(0.0, total + way * value - reference)
            sides[way] = (risen, begun if risen > 0.0 else place + 1)
            if risen > peak:
                peak, at, since, side = risen, place, sides[way][1], way
        sums.append(max(total for total, _ in sides.values()))
    return Course(tuple(sums), peak, at, since, side)


def _one_side(reference: float, limit: float, shift: float) -> float:
    steps = _steps(reference, limit, shift)
    lengths = np.linalg.solve(np.eye(len(steps)) - steps, np.ones(len(steps)))
    return float(lengths[0])


def _steps(reference: float, limit: float, shift: float) -> NDArray[np.float64]:
    """From each state of the sum to each, within the limit; what is missing of 1 is an alarm."""
    width = 2.0 * limit / (2 * _STATES - 1)
    states = np.arange(_STATES)
    away = (states[None, :] - states[:, None]) * width + reference - shift
    upper, lower = ndtr(away + width / 2.0), ndtr(away - width / 2.0)
    lower[:, 0] = 0.0
    moves: NDArray[np.float64] = upper - lower
    return moves
