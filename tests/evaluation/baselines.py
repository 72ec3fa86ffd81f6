"""What the guard has to beat: plain rules, and observers that know the fault.

Each gives the time of its stop on a scenario, or None. Two 'oracles' are told when the fault
begins to show (load on and fault there) and need 1 and 3 s to react.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from tests.evaluation.physics import Array
from tests.evaluation.scenarios import ROW_S, Scenario

WARM_UP_ROWS = 10


def _limits(scenario: Scenario) -> list[tuple[Array, float]]:
    s = scenario.setting
    signals = [(scenario.seen_die_c, s.limit_c)]
    if scenario.seen_hotspot_c is not None and s.hotspot_limit_c is not None:
        signals.append((scenario.seen_hotspot_c, s.hotspot_limit_c))
    return signals


def _first(scenario: Scenario, over: NDArray[np.bool_]) -> float | None:
    return float(scenario.time_s[int(np.argmax(over))]) if over.any() else None


def limit_less(scenario: Scenario, margin_k: float = 3.0) -> float | None:
    """Stops where a reading comes within `margin_k` of its limit."""
    over = np.zeros(len(scenario.time_s), dtype=bool)
    for codes, limit in _limits(scenario):
        over |= codes >= limit - margin_k
    return _first(scenario, over)


def slopes(codes: Array, window_s: float) -> Array:
    """Least-squares slope in K/s over the last `window_s` at each row; 0 before it is full."""
    n = round(window_s / ROW_S)
    t = (np.arange(n) - (n - 1) / 2.0) * ROW_S
    weights = t / (t * t).sum()
    out = np.zeros(len(codes))
    out[n - 1 :] = np.convolve(codes, weights[::-1], mode="valid")
    return out


def slope_over(scenario: Scenario, limit_k_per_s: float = 1.5) -> float | None:
    """Stops where the die rises faster than `limit_k_per_s` over 3 s."""
    return _first(scenario, slopes(scenario.seen_die_c, 3.0) > limit_k_per_s)


def line_fit(scenario: Scenario, horizon_s: float) -> float | None:
    """Stops where a line through the last 5 s reaches a limit within `horizon_s`."""
    over = np.zeros(len(scenario.time_s), dtype=bool)
    n = round(5.0 / ROW_S)
    for codes, limit in _limits(scenario):
        slope = slopes(codes, 5.0)
        mean = np.convolve(codes, np.ones(n) / n, mode="full")[: len(codes)]
        over[n - 1 :] |= (mean + slope * (2.5 + horizon_s))[n - 1 :] >= limit
    return _first(scenario, over)


def oracle(scenario: Scenario, after_s: float) -> float | None:
    """Knows which cards will cross and when their fault first shows; stops `after_s` later."""
    if not math.isfinite(scenario.crossing_s):
        return None
    return max(scenario.setting.plan[0][0], scenario.setting.fault_at_s) + after_s


BASELINES: dict[str, Callable[[Scenario], float | None]] = {
    "limit less 3 K": limit_less,
    "slope over 1.5 K/s": slope_over,
    "line fit, 5 s horizon": lambda s: line_fit(s, 5.0),
    "line fit, 10 s horizon": lambda s: line_fit(s, 10.0),
    "line fit, 20 s horizon": lambda s: line_fit(s, 20.0),
    "oracle, 1 s after onset": lambda s: oracle(s, 1.0),
    "oracle, 3 s after onset": lambda s: oracle(s, 3.0),
}
