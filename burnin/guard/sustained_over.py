"""A difference or a power must not stay over its limit."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from burnin.core.meaning import Cause, Check, Reason
from burnin.core.reading import known
from burnin.core.sample import Sample, Telemetry
from burnin.guard.guard import Expectation, Trip
from burnin.guard.kind import GuardFacts, GuardKind
from burnin.guard.meanings import GuardCause, GuardCheck, GuardReason
from burnin.profile import guards as settings

HOT_SPOT_FOR_S, POWER_FOR_S = 2.0, 1.0


@dataclass(frozen=True)
class Watched:
    """What stays over a limit: how it is measured, and what that means.

    `reason` is made of value, seconds and limit; values are in the unit of `signal`.
    """

    name: str
    signal: str
    measure: Callable[[Telemetry], float | None]
    reason: Callable[[float, float, float], Reason]
    suspect: Cause
    check: Check


class SustainedOver:
    """Ends the load when a value stays over `limit` for `for_s` seconds."""

    def __init__(self, watched: Watched, limit: float, for_s: float) -> None:
        self.name = watched.name
        self._watched, self._limit, self._for_s = watched, limit, for_s
        self._since_s: float | None = None

    def judge(self, sample: Sample) -> Trip | None:
        """Trip once the value has been over the limit for the whole time."""
        watched = self._watched
        value = watched.measure(sample.telemetry)
        if value is None or value <= self._limit:
            self._since_s = None
            return None
        if self._since_s is None:
            self._since_s = sample.elapsed_s
        if sample.elapsed_s - self._since_s < self._for_s:
            return None
        reason = watched.reason(value, self._for_s, self._limit)
        return Trip(
            self.name, watched.signal, value, self._limit, reason, watched.suspect, watched.check
        )

    def expectation(self) -> Expectation | None:
        """None: nothing is foreseen."""
        return None


def _over_gpu_k(telemetry: Telemetry) -> float | None:
    hot, gpu = known(telemetry.hotspot_temp_c), known(telemetry.gpu_temp_c)
    return None if hot is None or gpu is None else hot - gpu


def _power_w(telemetry: Telemetry) -> float | None:
    return known(telemetry.power_w)


HOT_SPOT = Watched(
    "hot spot over GPU",
    "hotspot_delta_k",
    _over_gpu_k,
    lambda over, for_s, limit: GuardReason.HOT_SPOT_OVER_GPU(
        over_k=over, for_s=for_s, limit_k=limit
    ),
    GuardCause.HOT_SPOT_MOUNT(),
    GuardCheck.PASTE_PRINT(),
)
POWER = Watched(
    "board power",
    "power_w",
    _power_w,
    lambda power, for_s, limit: GuardReason.POWER_OVER(power_w=power, for_s=for_s, limit_w=limit),
    GuardCause.SUPPLY_STAGE(),
    GuardCheck.SUPPLIES(),
)


def _hot_spot(said: settings.HotSpotOverGpu, _: GuardFacts) -> SustainedOver | None:
    limit_k = said.hotspot_delta_limit_k
    return None if limit_k is None else SustainedOver(HOT_SPOT, limit_k, HOT_SPOT_FOR_S)


def _power(said: settings.BoardPower, _: GuardFacts) -> SustainedOver | None:
    limit_w = said.power_limit_w
    return None if limit_w is None else SustainedOver(POWER, limit_w, POWER_FOR_S)


HOTSPOT_OVER_GPU = GuardKind(
    "hotspot_over_gpu",
    settings.HotSpotOverGpu,
    _hot_spot,
    "common practice, no source: more than some 30 K says mount or paste",
    70,
    needs=("hotspot_temp_c", "gpu_temp_c"),
)
BOARD_POWER = GuardKind(
    "board_power",
    settings.BoardPower,
    _power,
    "what the profile's class of card may draw",
    71,
    needs=("power_w",),
)
