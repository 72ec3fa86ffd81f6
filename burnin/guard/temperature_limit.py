"""A temperature must not reach its limit.

What is compared is the value that the signal will have reached when the load is really gone (law
4): the value read, plus half a sensor step, plus the slope times sensor lag and stop latency. In
the seconds after a step of power the slope does not yet tell what the step will add: then more is
kept free.
"""

from __future__ import annotations

from burnin.core.reading import NotMeasured, known
from burnin.core.sample import Sample
from burnin.guard.guard import Expectation, Trip
from burnin.guard.kind import GuardFacts, GuardKind
from burnin.guard.meanings import SIGNAL_TERMS, GuardCause, GuardCheck, GuardNote, GuardReason
from burnin.guard.pace import PowerStep
from burnin.guard.trend import Trend
from burnin.profile import guards as settings

_NAMES = {
    "gpu_temp_c": "GPU limit",
    "hotspot_temp_c": "hot spot limit",
    "memory_temp_c": "memory limit",
}
_NEARING_K_PER_S, _FORESEEN_S = 0.03, 900.0
_STEP_SHOWS_S, _STEP_MEAN_S = 3.0, 1.0
_STEP_KEEPS_C = 1.0
"""Kept free besides while a step of power is younger than that: whole degrees leap past a limit."""


class TemperatureLimit:
    """Ends the load before `signal` reaches `limit_c`."""

    def __init__(
        self,
        signal: str,
        limit_c: float,
        *,
        margin_c: float,
        lag_s: float,
        latency_s: float,
        step_c: float,
    ) -> None:
        if margin_c < 0 or lag_s < 0 or latency_s < 0:
            raise ValueError(f"{signal}: margin, lag and latency must not be negative")
        self.name = _NAMES[signal]
        self._signal, self._limit_c = signal, limit_c
        self._margin_c, self._delay_s, self._step_c = margin_c, lag_s + latency_s, step_c
        self._trend = Trend(6.0)
        # A forecast over minutes needs more codes than a stop within seconds.
        self._long_trend = Trend(20.0)
        self._step = PowerStep(_STEP_SHOWS_S, _STEP_MEAN_S)
        self._last_c: float | None = None

    def judge(self, sample: Sample) -> Trip | None:
        """Trip when value, half a step and the rise until the load is gone reach the limit."""
        power_w = known(sample.telemetry.power_w)
        if power_w is not None:
            self._step.see(sample.elapsed_s, power_w)
        value = getattr(sample.telemetry, self._signal)
        if isinstance(value, NotMeasured):
            return None
        self._trend.add(sample.elapsed_s, value)
        self._long_trend.add(sample.elapsed_s, value)
        self._last_c = value
        slope = max(0.0, self._trend.slope_per_s())
        margin_c = self._margin_c + (_STEP_KEEPS_C if self._step.stepped() else 0.0)
        if value + self._step_c / 2 + slope * self._delay_s < self._limit_c - margin_c:
            return None
        reason = GuardReason.NEAR_LIMIT(
            signal=SIGNAL_TERMS[self._signal](),
            temp_c=value,
            rise_k_per_s=slope,
            margin_k=margin_c,
            limit_c=self._limit_c,
        )
        return Trip(
            self.name, self._signal, value, self._limit_c, reason,
            GuardCause.COOLING_OR_MOUNT(), GuardCheck.COOLING(),
        )  # fmt: skip

    def expectation(self) -> Expectation | None:
        """Seconds to the limit at the present slope."""
        if self._last_c is None:
            return None
        room_k = self._limit_c - self._margin_c - self._last_c
        slope = self._long_trend.slope_per_s()
        signal = SIGNAL_TERMS[self._signal]()
        if slope < _NEARING_K_PER_S or room_k / slope > _FORESEEN_S:
            note = GuardNote.NOT_NEARING(signal=signal, room_k=room_k)
            return Expectation(self.name, self._signal, self._limit_c, None, note)
        in_s = max(0.0, room_k / slope)
        note = GuardNote.NEARING(signal=signal, room_k=room_k, crossing_in_s=in_s)
        return Expectation(self.name, self._signal, self._limit_c, in_s, note)


def _of(
    signal: str, limit_c: float | None, approach: settings.Approach, facts: GuardFacts
) -> TemperatureLimit | None:
    if limit_c is None:
        return None
    return TemperatureLimit(
        signal,
        limit_c,
        margin_c=approach.temp_margin_c,
        lag_s=approach.sensor_lag_s,
        latency_s=approach.stop_latency_s,
        step_c=facts.temp_step_c,
    )


_SOURCE = "limits of common practice, named in each profile; what is counted before them: law 4"


def _gpu(said: settings.GpuLimit, facts: GuardFacts) -> TemperatureLimit | None:
    return _of("gpu_temp_c", said.gpu_temp_limit_c, said, facts)


def _hotspot(said: settings.HotSpotLimit, facts: GuardFacts) -> TemperatureLimit | None:
    return _of("hotspot_temp_c", said.hotspot_temp_limit_c, said, facts)


def _memory(said: settings.MemoryLimit, facts: GuardFacts) -> TemperatureLimit | None:
    return _of("memory_temp_c", said.memory_temp_limit_c, said, facts)


GPU_LIMIT = GuardKind(
    "gpu_limit", settings.GpuLimit, _gpu, _SOURCE, 50, ("temp_step_c",), needs=("gpu_temp_c",)
)
HOTSPOT_LIMIT = GuardKind(
    "hotspot_limit", settings.HotSpotLimit, _hotspot, _SOURCE, 51, ("temp_step_c",),
    needs=("hotspot_temp_c",),
)  # fmt: skip
MEMORY_LIMIT = GuardKind(
    "memory_limit", settings.MemoryLimit, _memory, _SOURCE, 52, ("temp_step_c",),
    needs=("memory_temp_c",),
)  # fmt: skip
