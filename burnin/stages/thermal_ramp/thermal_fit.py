"""First-order step response fitted to a coarse sensor: where it will settle, and how surely.

T(t) = T_end + (T_start - T_end)·exp(-t/τ), the response of one thermal resistance and capacity
(lumped capacitance; e.g. Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, chapter 5;
title and chapter from memory). For a fixed τ it is linear in T_start and T_end, so τ alone is
searched.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class StepFit:
    """Fitted response: temperatures in °C, `tau_s` in seconds, standard errors beside them."""

    start_c: float
    end_c: float
    tau_s: float
    end_std_c: float
    tau_std_s: float
    residual_std_c: float


def fit_step(times_s: Sequence[float], temps_c: Sequence[float], code_c: float) -> StepFit | None:
    """Least-squares fit over one step; None with under 8 points or without any movement.

    `code_c` is the sensor's step: rounding is no white noise, so each run of equal codes counts
    as one independent point when standard errors are formed.
    """
    import numpy as np

    t = np.asarray(times_s, dtype=float)
    y = np.asarray(temps_c, dtype=float)
    if t.size < 8 or float(np.ptp(y)) < 2 * code_c:
        return None
    t = t - t[0]
    span = float(t[-1])

    def solve(tau_s: float) -> tuple[float, float, float]:
        decay = np.exp(-t / tau_s)
        design = np.stack([1.0 - decay, decay], axis=1)
        (end, start), *_ = np.linalg.lstsq(design, y, rcond=None)
        error = y - design @ np.array([end, start])
        return float(error @ error), float(end), float(start)

    low, high = math.log(span / 200.0), math.log(span * 20.0)
    grid = np.linspace(low, high, 48)
    costs = [solve(math.exp(x))[0] for x in grid]
    best = int(np.argmin(costs))
    left, right = grid[max(0, best - 1)], grid[min(len(grid) - 1, best + 1)]
    tau_s = math.exp(_golden(lambda x: solve(math.exp(x))[0], float(left), float(right)))
    cost, end_c, start_c = solve(tau_s)
    runs = 1 + int(np.count_nonzero(np.diff(y)))
    freedom = max(1, min(t.size, 2 * runs) - 3)
    variance = max(cost / t.size, code_c**2 / 12.0)
    decay = np.exp(-t / tau_s)
    jacobian = np.stack(
        [1.0 - decay, decay, (start_c - end_c) * decay * t / tau_s**2], axis=1
    ) * math.sqrt(freedom / t.size)
    covariance = variance * np.linalg.pinv(jacobian.T @ jacobian)
    return StepFit(
        start_c,
        end_c,
        tau_s,
        math.sqrt(max(0.0, float(covariance[0, 0]))),
        math.sqrt(max(0.0, float(covariance[2, 2]))),
        math.sqrt(variance),
    )


def _golden(cost: Callable[[float], float], low: float, high: float) -> float:
    """Minimum of a unimodal function by golden-section search."""
    ratio = (math.sqrt(5.0) - 1.0) / 2.0
    a, b = low, high
    c, d = b - ratio * (b - a), a + ratio * (b - a)
    cost_c, cost_d = cost(c), cost(d)
    for _ in range(40):
        if cost_c < cost_d:
            b, d, cost_d = d, c, cost_c
            c = b - ratio * (b - a)
            cost_c = cost(c)
        else:
            a, c, cost_c = c, d, cost_d
            d = a + ratio * (b - a)
            cost_d = cost(d)
    return (a + b) / 2.0
