"""How far from rest a step of load ended: what is still to come, and how surely.

A temperature that rises follows a first-order step response (thermal_fit.py), which a bench keeps
only in part: its air warms, or is moved faster as it warms. So the response is fitted to the first
part of the step too, and what that fit misses at the step's end counts in the uncertainty. A
temperature that stands or falls has no rise to come: a host that moves more air as it warms brings
it down by 1 to 3 K in a minute (recordings of five hosts; tests/evaluation/tails.py).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from burnin.stages.thermal_ramp.thermal_fit import StepFit, fit_step

_FIRST_PART = 0.6
_LONGEST_TAU = 1.5
"""Of the time looked at: a slower response is a straight line in it, and its end is anywhere."""
_MOST_AHEAD_K = 8.0
_LEAST_POINTS = 12


@dataclass(frozen=True)
class Tail:
    """The end of a step: `now_c` in °C, `left_k` still to rise with its uncertainty (k = 2), K.

    `left_k` is None where the rise goes on and nothing seen so far tells where it ends.
    `per_minute_k` is the slope of the last window, K a minute.
    """

    now_c: float
    per_minute_k: float
    left_k: float | None
    left_u_k: float


def tail_of(points: Sequence[tuple[float, float]], window_s: float, code_c: float) -> Tail | None:
    """The tail of (elapsed_s, °C) points of one step, the first seconds of the die left out.

    `window_s` is what counts as its end, `code_c` the sensor's step in K. None with too few points.
    """
    end_s = points[-1][0] if points else 0.0
    last = [(t, v) for t, v in points if t >= end_s - window_s]
    if len(last) < _LEAST_POINTS:
        return None
    slope, slope_std = _line(last, code_c)
    span_s = last[-1][0] - last[0][0]
    quarter = last[-max(1, len(last) // 4) :]
    now_c = sum(v for _, v in quarter) / len(quarter)
    per_minute_k = 60.0 * slope
    still_u_k = math.hypot(code_c / math.sqrt(3.0), 2.0 * slope_std * span_s)
    if slope * span_s <= still_u_k:
        # As much again as the window rose by, give or take that much.
        left_k = max(0.0, slope * span_s)
        return Tail(now_c, per_minute_k, left_k, math.hypot(still_u_k, left_k))
    whole = _fit(points, code_c)
    if whole is None:
        return Tail(now_c, per_minute_k, None, math.inf)
    left_k = whole.end_c - now_c
    missed_k = _missed(points, now_c, code_c)
    if missed_k is None or not 0.0 <= left_k <= _MOST_AHEAD_K:
        return Tail(now_c, per_minute_k, None, math.inf)
    u_k = 2.0 * math.hypot(whole.end_std_c, code_c / math.sqrt(12.0), missed_k / 2.0)
    return Tail(now_c, per_minute_k, left_k, u_k)


def _fit(points: Sequence[tuple[float, float]], code_c: float) -> StepFit | None:
    """A fit whose end can be told from these points; None otherwise."""
    fit = fit_step([t for t, _ in points], [v for _, v in points], code_c)
    if fit is None or fit.tau_s > _LONGEST_TAU * (points[-1][0] - points[0][0]):
        return None
    return fit


def _missed(points: Sequence[tuple[float, float]], now_c: float, code_c: float) -> float | None:
    """By how much the first part's fit misses the end, K; None where it has no end of its own."""
    begin_s, end_s = points[0][0], points[-1][0]
    first = [(t, v) for t, v in points if t <= begin_s + _FIRST_PART * (end_s - begin_s)]
    fit = _fit(first, code_c)
    if fit is None:
        return None
    at_end_c = fit.end_c + (fit.start_c - fit.end_c) * math.exp(-(end_s - begin_s) / fit.tau_s)
    return abs(at_end_c - now_c)


def _line(points: Sequence[tuple[float, float]], code_c: float) -> tuple[float, float]:
    """Slope in K/s and its standard error; equal codes in a row count as one point."""
    mean_t = sum(t for t, _ in points) / len(points)
    mean_v = sum(v for _, v in points) / len(points)
    spread = sum((t - mean_t) ** 2 for t, _ in points)
    slope = sum((t - mean_t) * (v - mean_v) for t, v in points) / spread
    left = sum((v - mean_v - slope * (t - mean_t)) ** 2 for t, v in points) / len(points)
    runs = 1 + sum(a != b for (_, a), (_, b) in pairwise(points))
    variance = max(left, code_c**2 / 12.0)
    return slope, math.sqrt(variance * len(points) / spread / max(1, min(len(points), 2 * runs)))
