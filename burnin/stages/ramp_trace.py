"""What a thermal ramp has seen: samples by step, energy above idle, extremes."""

from __future__ import annotations

from dataclasses import dataclass, field

from burnin.guard.trend import Trend
from burnin.reading import known
from burnin.sample import HEAT_THROTTLE, Sample

RATE_WINDOW_S = 5.0
LAST_WINDOW_S = 60.0
FAN_ASKED_PCT = 25.0
"""Below this many fans stand still on purpose; common practice, no source."""


@dataclass
class RampTrace:
    """Collects the samples of a ramp; temperatures in °C, power in W, energy in J."""

    idle_power_w: float | None = None
    start_temp_c: float | None = None
    energy_j: float = 0.0
    peak_rate_k_per_s: float | None = None
    throttled: bool | None = None
    steps_completed: int = 0
    fan_stood_from_s: float | None = None
    fan_stood_s: float | None = None
    steps: list[list[Sample]] = field(default_factory=list)
    peaks: dict[str, float] = field(default_factory=dict)
    _trend: Trend = field(default_factory=lambda: Trend(RATE_WINDOW_S))

    def begin_step(self) -> None:
        """Following samples belong to a new step."""
        self.steps.append([])

    def add(self, sample: Sample) -> None:
        """Take in one sample of the present step."""
        step = self.steps[-1]
        telemetry = sample.telemetry
        power_w = known(telemetry.power_w)
        if step and power_w is not None and self.idle_power_w is not None:
            passed_s = sample.elapsed_s - step[-1].elapsed_s
            self.energy_j += max(0.0, power_w - self.idle_power_w) * passed_s
        step.append(sample)
        gpu, hot = known(telemetry.gpu_temp_c), known(telemetry.hotspot_temp_c)
        values = {
            "gpu_temp_c": gpu,
            "hotspot_temp_c": hot,
            "memory_temp_c": known(telemetry.memory_temp_c),
            "hotspot_delta_k": None if gpu is None or hot is None else hot - gpu,
        }
        for name, value in values.items():
            if value is not None:
                self.peaks[name] = max(value, self.peaks.get(name, value))
        if gpu is not None:
            self._trend.add(sample.elapsed_s, gpu)
            rate = self._trend.mean_rise_per_s()
            self.peak_rate_k_per_s = max(rate, self.peak_rate_k_per_s or 0.0)
        self._see_fan(sample.elapsed_s, known(telemetry.fan_rpm), known(telemetry.fan_pct))
        reasons = known(telemetry.throttle_reasons)
        if reasons is not None:
            self.throttled = bool(self.throttled) or HEAT_THROTTLE in reasons

    def _see_fan(self, now_s: float, fan_rpm: float | None, fan_pct: float | None) -> None:
        """How long a fan stood still at a stretch although it was asked to turn."""
        if fan_rpm is None or fan_pct is None:
            return
        self.fan_stood_s = self.fan_stood_s or 0.0
        if fan_rpm > 0.0 or fan_pct < FAN_ASKED_PCT:
            self.fan_stood_from_s = None
            return
        if self.fan_stood_from_s is None:
            self.fan_stood_from_s = now_s
        self.fan_stood_s = max(self.fan_stood_s, now_s - self.fan_stood_from_s)

    def add_last(self, sample: Sample | None, stage: str) -> None:
        """Take in the sample at which a guard tripped: it is on record, and may be the peak."""
        if sample is None or sample.stage != stage or not self.steps:
            return
        if not self.steps[-1] or sample.elapsed_s > self.steps[-1][-1].elapsed_s:
            self.add(sample)

    def last_window(self, signal: str) -> list[tuple[float, float]]:
        """(elapsed_s, value) of the last minute, or last half, of the last step."""
        step = self.steps[-1] if self.steps else []
        if not step:
            return []
        length_s = step[-1].elapsed_s - step[0].elapsed_s
        since_s = step[-1].elapsed_s - min(LAST_WINDOW_S, length_s / 2)
        points = []
        for sample in step:
            value = known(getattr(sample.telemetry, signal))
            if value is not None and sample.elapsed_s >= since_s:
                points.append((sample.elapsed_s, value))
        return points
