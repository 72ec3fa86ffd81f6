"""What a thermal ramp has seen: samples by step, energy above idle, extremes."""

from __future__ import annotations

from dataclasses import dataclass, field

from burnin.core.meaning import Reason
from burnin.core.reading import NotMeasured, known
from burnin.core.sample import Sample, Slowdown, Telemetry
from burnin.guard.trend import Trend
from burnin.stages.thermal_ramp.fan_watch import FanWatch
from burnin.stages.thermal_ramp.meanings import ThermalRampReason

RATE_WINDOW_S = 5.0
MOST_KEPT = 24_000
"""Samples that are kept of a step: 20 minutes at 20 a second, 40 at 10."""
LAST_WINDOW_S = 60.0
_JUDGED = (
    "gpu_temp_c",
    "hotspot_temp_c",
    "memory_temp_c",
    "power_w",
    "core_clock_mhz",
    "fan_rpm",
    "fan_pct",
    "throttle_reasons",
)
"""Signals whose absence a reading must explain."""
CUT = ThermalRampReason.CUT()
"""Said of what needs a last step that has run its time, until one has."""

@dataclass
class RampTrace:
    """Collects the samples of a ramp; temperatures in °C, power in W, energy in J.

    `cut`: why nothing can be said of the end of the last step, None once that has run its time.
    `asked_w`: power that each step was to hold, None where it held a share of work.
    `unread`: why a signal of the telemetry was not read last, by its name.
    `full_work`: all the work there is stays below the top power that was asked for.
    `gave_up`: what of the ramp was given up on a warning, None: nothing; `waited_s`, `rested_s`:
    how long it waited and rested for one.
    """

    idle_power_w: float | None = None
    start_temp_c: float | None = None
    energy_j: float = 0.0
    peak_rate_k_per_s: float | None = None
    throttled: bool | None = None
    steps_completed: int = 0
    cut: Reason | None = CUT
    spent: bool = False
    full_work: bool = False
    gave_up: Reason | None = None
    waited_s: float = 0.0
    rested_s: float = 0.0
    slowed_at: Sample | None = None
    fans: FanWatch = field(default_factory=FanWatch)
    steps: list[list[Sample]] = field(default_factory=list)
    asked_w: list[float | None] = field(default_factory=list)
    peaks: dict[str, float] = field(default_factory=dict)
    unread: dict[str, Reason] = field(default_factory=dict)
    _seen: int = 0
    _most_seen: int = 0
    _mean_every_s: float = 1.0
    _every: int = 1
    _trend: Trend = field(default_factory=lambda: Trend(RATE_WINDOW_S))

    def begin_step(self, power_w: float | None = None) -> None:
        """Following samples belong to a new step, which is to hold `power_w`."""
        self.steps.append([])
        self._seen, self._every = 0, 1
        self.asked_w.append(power_w)

    def begin_step_again(self) -> None:
        """The present step is held anew: what it has shown so far is no part of it."""
        self.steps[-1] = []
        self._seen, self._every = 0, 1

    def add(self, sample: Sample) -> None:
        """Take in one sample of the present step."""
        step = self.steps[-1]
        telemetry = sample.telemetry
        power_w = known(telemetry.power_w)
        if step and power_w is not None and self.idle_power_w is not None:
            passed_s = sample.elapsed_s - step[-1].elapsed_s
            self.energy_j += max(0.0, power_w - self.idle_power_w) * passed_s
        self._keep(step, sample)
        gpu, spot = known(telemetry.gpu_temp_c), known(telemetry.hotspot_temp_c)
        values = {
            "gpu_temp_c": gpu,
            "hotspot_temp_c": spot,
            "memory_temp_c": known(telemetry.memory_temp_c),
            "hotspot_delta_k": None if gpu is None or spot is None else spot - gpu,
        }
        for name, value in values.items():
            if value is not None:
                self.peaks[name] = max(value, self.peaks.get(name, value))
        if gpu is not None:
            self._trend.add(sample.elapsed_s, gpu)
            rate = self._trend.mean_rise_per_s()
            self.peak_rate_k_per_s = max(rate, self.peak_rate_k_per_s or 0.0)
        self._see_unread(telemetry)
        self.fans.see(sample.elapsed_s, telemetry)
        reasons = known(telemetry.throttle_reasons)
        if reasons is not None:
            hot = Slowdown.HEAT in reasons
            if hot and not self.throttled:
                self.slowed_at = sample
            self.throttled = bool(self.throttled) or hot

    def _keep(self, step: list[Sample], sample: Sample) -> None:
        """Keep the sample: the newest always, of a long step every second, fourth … before it.

        The record has them all; means, fits and halves of a step are of evenly spaced ones.
        """
        if step and (self._seen - 1) % self._every:
            step.pop()
        step.append(sample)
        self._seen += 1
        if self._seen > max(1, self._most_seen):
            self._most_seen = self._seen
            self._mean_every_s = (sample.elapsed_s - step[0].elapsed_s) / (self._seen - 1)
        if len(step) > MOST_KEPT and (self._seen - 1) % self._every == 0:
            del step[1::2]
            self._every *= 2
            if step[-1] is not sample:
                step.append(sample)

    @property
    def loaded_s(self) -> float:
        """How long all steps lasted together, s."""
        return sum(step[-1].elapsed_s - step[0].elapsed_s for step in self.steps if step)

    @property
    def held_s(self) -> float:
        """How long the present step has lasted, s."""
        step = self.steps[-1] if self.steps else []
        return step[-1].elapsed_s - step[0].elapsed_s if step else 0.0

    @property
    def sample_every_s(self) -> float:
        """Mean distance of two samples, s; a second where nothing was sampled twice."""
        return self._mean_every_s

    def why_unread(self, *signals: str) -> Reason:
        """Why these signals were never read; the first reason that is known."""
        told = (self.unread[name] for name in signals if name in self.unread)
        return next(told, ThermalRampReason.NO_SUCH_SENSOR())

    def _see_unread(self, telemetry: Telemetry) -> None:
        for name in _JUDGED:
            value = getattr(telemetry, name)
            if isinstance(value, NotMeasured):
                self.unread[name] = value.reason

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
