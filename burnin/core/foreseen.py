"""What is foreseen of a temperature, how such forecasts came out, and what may be behind a stop."""

from __future__ import annotations

from dataclasses import dataclass

from burnin.core.meaning import Cause, Check


@dataclass(frozen=True)
class Foreseen:
    """What the die's sensor should read `ahead_s` from now, °C, with its 95 % band."""

    ahead_s: float
    value_c: float
    low_c: float
    high_c: float


@dataclass(frozen=True)
class ForecastsKept:
    """How forecasts so many seconds ahead came out in this run.

    `judged_count`: forecasts whose time came, carried along by the power that then came.
    `inside_count`: how many of their readings lay in the 95 % band. `mean_miss_k`: mean distance of
    reading and forecast, K.
    """

    ahead_s: float
    judged_count: int
    inside_count: int
    mean_miss_k: float


@dataclass(frozen=True)
class StillLikely:
    """A cause that a stop leaves likely, with what to look at; probability 0 to 1."""

    cause: Cause
    check: Check
    probability: float
