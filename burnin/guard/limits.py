"""The simple guards: limit, rate, hot spot, power, heat throttle. None can be switched off.

Each stops before its limit (law 4): what is compared is the value that the signal will have
reached when the load is really gone, which is the value read, plus half a sensor step, plus the
slope times sensor lag and stop latency.
"""

from __future__ import annotations

from burnin.core.reading import NotMeasured
from burnin.core.sample import HEAT_THROTTLE, Sample
from burnin.guard.guard import Expectation, Trip
from burnin.guard.trend import Trend

_SIGNAL_WORDS = {
    "gpu_temp_c": "GPU",
    "hotspot_temp_c": "hot spot",
    "memory_temp_c": "memory",
}


def _value(sample: Sample, signal: str) -> float | None:
    value = getattr(sample.telemetry, signal)
    return None if isinstance(value, NotMeasured) else float(value)


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
        self.name = f"{_SIGNAL_WORDS[signal]} limit"
        self._signal, self._limit_c = signal, limit_c
        self._margin_c, self._delay_s, self._step_c = margin_c, lag_s + latency_s, step_c
        self._trend = Trend(6.0)
        # A forecast over minutes needs more codes than a stop within seconds.
        self._long_trend = Trend(20.0)
        self._last_c: float | None = None

    def judge(self, sample: Sample) -> Trip | None:
        """Trip when value, half a step and the rise until the load is gone reach the limit."""
        value = _value(sample, self._signal)
        if value is None:
            return None
        self._trend.add(sample.elapsed_s, value)
        self._long_trend.add(sample.elapsed_s, value)
        self._last_c = value
        rise_c = max(0.0, self._trend.slope_per_s()) * self._delay_s
        if value + self._step_c / 2 + rise_c < self._limit_c - self._margin_c:
            return None
        word = _SIGNAL_WORDS[self._signal]
        return Trip(
            self.name,
            self._signal,
            value,
            self._limit_c,
            f"{word} at {value:.0f} °C and rising {max(0.0, self._trend.slope_per_s()):.1f} K/s: "
            f"within {self._margin_c:g} K of the {self._limit_c:.0f} °C limit",
            "cooling: fans, coolant flow, or the mount of heatsink or block",
            "Let the card cool. Do the fans turn, does coolant flow, does the cooler sit flat?",
        )

    def expectation(self) -> Expectation | None:
        """Seconds to the limit at the present slope."""
        if self._last_c is None:
            return None
        room_c = self._limit_c - self._margin_c - self._last_c
        slope = self._long_trend.slope_per_s()
        word = _SIGNAL_WORDS[self._signal]
        if slope < 0.03 or room_c / slope > 900.0:
            text = f"{word} {room_c:.0f} K below its stop, not nearing it"
            return Expectation(self.name, self._signal, self._limit_c, None, text)
        crossing_in_s = max(0.0, room_c / slope)
        text = f"{word} {room_c:.0f} K below its stop, there in {crossing_in_s:.0f} s at this rate"
        return Expectation(self.name, self._signal, self._limit_c, crossing_in_s, text)


class RateLimit:
    """Ends the load when the GPU warms faster than any sound cooler would let it."""

    name = "rate limit"

    def __init__(self, limit_c_per_s: float, window_s: float) -> None:
        self._limit = limit_c_per_s
        self._window_s = window_s
        self._trend = Trend(window_s)

    def judge(self, sample: Sample) -> Trip | None:
        """Trip on the mean rise over the window."""
        value = _value(sample, "gpu_temp_c")
        if value is None:
            return None
        self._trend.add(sample.elapsed_s, value)
        rate = self._trend.mean_rise_per_s()
        if rate <= self._limit:
            return None
        return Trip(
            self.name,
            "gpu_temp_c",
            rate,
            self._limit,
            f"GPU rose {rate:.1f} K/s over {self._window_s:g} s, "
            f"at most {self._limit:g} K/s allowed",
            "contact between die and cooler",
            "Is the cooler mounted, is the film off the pads, is there paste on the die?",
        )

    def expectation(self) -> Expectation | None:
        """None: a rate has no crossing to foresee."""
        return None


class SustainedOver:
    """Ends the load when a difference or a power stays over its limit for `for_s` seconds."""

    def __init__(
        self,
        name: str,
        signal: str,
        limit: float,
        unit: str,
        for_s: float,
        suspect: str,
        check: str,
    ) -> None:
        self.name, self._signal, self._limit, self._unit = name, signal, limit, unit
        self._for_s, self._suspect, self._check = for_s, suspect, check
        self._since_s: float | None = None

    def _measure(self, sample: Sample) -> float | None:
        if self._signal == "hotspot_delta_k":
            hot, gpu = _value(sample, "hotspot_temp_c"), _value(sample, "gpu_temp_c")
            return None if hot is None or gpu is None else hot - gpu
        return _value(sample, self._signal)

    def judge(self, sample: Sample) -> Trip | None:
        """Trip once the value has been over the limit for the whole time."""
        value = self._measure(sample)
        if value is None or value <= self._limit:
            self._since_s = None
            return None
        if self._since_s is None:
            self._since_s = sample.elapsed_s
        if sample.elapsed_s - self._since_s < self._for_s:
            return None
        reason = (
            f"{self.name}: {value:.0f} {self._unit} for {self._for_s:g} s, "
            f"at most {self._limit:g} {self._unit} allowed"
        )
        return Trip(
            self.name, self._signal, value, self._limit, reason, self._suspect, self._check
        )

    def expectation(self) -> Expectation | None:
        """None: nothing is foreseen."""
        return None


class HeatThrottle:
    """Ends the load when the card slows itself down for heat."""

    name = "heat throttle"

    def judge(self, sample: Sample) -> Trip | None:
        """Trip on the card's own word."""
        reasons = sample.telemetry.throttle_reasons
        if isinstance(reasons, NotMeasured) or HEAT_THROTTLE not in reasons:
            return None
        temp = _value(sample, "gpu_temp_c")
        return Trip(
            self.name,
            "throttle_reasons",
            temp,
            None,
            f"the card says that it is {HEAT_THROTTLE}"
            + (f" (GPU {temp:.0f} °C)" if temp is not None else ""),
            "cooling",
            "Let the card cool. Do the fans turn, does coolant flow, does the cooler sit flat?",
        )

    def expectation(self) -> Expectation | None:
        """None: the card's own threshold is not ours to foresee."""
        return None
