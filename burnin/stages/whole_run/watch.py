"""Sees every sample of a run, and keeps when presence, width, speed and slow-down changed.

Width is watched always, speed only under work (law 9): in a stretch of load, and there from the
moment on at which it reached its best, because an engine takes seconds to begin. A driver that
tells how busy the card is is believed where it says that nothing was going on.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from burnin.core.reading import NotMeasured, known
from burnin.core.sample import FAN_NAMES, Sample, Slowdown
from burnin.stages.whole_run.even_load import EvenLoad
from burnin.stages.whole_run.fan_run_down import FanRunDown
from burnin.stages.whole_run.heat_turn import HeatTurn
from burnin.stages.whole_run.power_watch import PowerWatch
from burnin.stages.whole_run.sensor_watch import SensorWatch
from burnin.stages.whole_run.spans import Span, follow
from burnin.thermal.heat_course import HeatCourse

WORKS_FROM_SHARE = 0.5
"""Share of full work from which on a load holds a link at its speed (common practice)."""
_BUSY_FROM_PCT = 30.0
WIDTHS_LANES = (1, 2, 4, 8, 12, 16, 32)
"""Widths of the base specification; a card that is gone reads all ones, which is none of them."""
UNWATCHED_FROM_S = 10.0
"""Between two samples that are further apart nobody watched: the run was interrupted, or its clock
was set. Far above any sampling interval and any prompt's (estimate, no source)."""
BY_HARDWARE = frozenset(
    {
        Slowdown.HEAT,
        Slowdown.HOT_SIGNAL,
        Slowdown.AVERAGE_TEMPERATURE,
        Slowdown.REGULATOR_HOT,
        Slowdown.REGULATOR_CURRENT,
        Slowdown.HARDWARE,
        Slowdown.POWER_BRAKE,
    }
)
"""Slow-downs that no driver plans; limits of power are planned, and every full load meets them."""


@dataclass
class RunWatch:
    """What all samples so far showed; `add` takes them in their order.

    `unwatched_s`: seconds between the first and the last in which no sample was taken.
    """

    presence: list[Span[bool]] = field(default_factory=list)
    widths: list[Span[float]] = field(default_factory=list)
    stretches: list[list[Span[float]]] = field(default_factory=list)
    slowed: list[Span[frozenset[Slowdown]]] = field(default_factory=list)
    even_load: EvenLoad = field(default_factory=EvenLoad)
    samples_count: int = 0
    first_s: float = 0.0
    last_s: float = 0.0
    unwatched_s: float = 0.0
    width_told_s: float | None = None
    slowdown_told_s: float | None = None
    rest_c: dict[str, float] = field(default_factory=dict)
    most_c: dict[str, float] = field(default_factory=dict)
    sensors: SensorWatch = field(default_factory=SensorWatch)
    power: PowerWatch = field(default_factory=PowerWatch)
    course: HeatCourse = field(default_factory=HeatCourse)
    turn: HeatTurn = field(default_factory=HeatTurn)
    fans: FanRunDown = field(default_factory=FanRunDown)
    own_fans: bool = False
    _worked: bool = False
    _working_in: str | None = None

    def add(self, sample: Sample) -> None:
        """Take in one sample."""
        if not self.samples_count:
            self.first_s = sample.elapsed_s
        elif sample.elapsed_s - self.last_s > UNWATCHED_FROM_S:
            self.unwatched_s += sample.elapsed_s - self.last_s
        self.samples_count += 1
        self.last_s = sample.elapsed_s
        follow(self.presence, sample.present, sample)
        self.even_load.add(sample)
        self.course.add(sample)
        self.turn.add(sample)
        if not sample.present:
            self._working_in = None
            return
        self._link(sample)
        slowed = sample.telemetry.throttle_reasons
        if not isinstance(slowed, NotMeasured):
            self.slowdown_told_s = sample.elapsed_s
            follow(self.slowed, frozenset(slowed) & BY_HARDWARE, sample)
        self._heat(sample)

    def gone_on(self) -> None:
        """The run goes on after an interruption: the card rested meanwhile, its work began anew."""
        self._working_in = None
        self.even_load.end()
        self.course.end()
        self.turn.end()
        self.power.end()
        self.sensors.gone_on()
        self.fans.gone_on()

    def _link(self, sample: Sample) -> None:
        width = known(sample.telemetry.link_width_lanes)
        if width in WIDTHS_LANES:
            self.width_told_s = sample.elapsed_s
            follow(self.widths, float(width), sample)
        speed = known(sample.telemetry.link_speed_gts)
        busy = known(sample.telemetry.busy_pct)
        told = sample.telemetry
        # A driver that tells neither heat nor power hangs, and its card does nothing.
        awake = known(told.gpu_temp_c) is not None or known(told.power_w) is not None
        works = sample.load_share >= WORKS_FROM_SHARE and awake
        if not works or speed is None or (busy is not None and 0.0 < busy < _BUSY_FROM_PCT):
            self._working_in = None
            return
        if self._working_in != sample.stage:
            self.stretches.append([])
            self._working_in = sample.stage
        follow(self.stretches[-1], speed, sample)

    def _heat(self, sample: Sample) -> None:
        told = sample.telemetry
        self.sensors.add(sample)
        self.power.add(sample)
        self.fans.add(sample)
        fans = (known(getattr(told, name)) for pair in FAN_NAMES for name in pair)
        self.own_fans = self.own_fans or any(fan is not None for fan in fans)
        self._worked = self._worked or sample.load_share > 0.0
        for name in ("gpu_temp_c", "hotspot_temp_c", "memory_temp_c"):
            value = known(getattr(told, name))
            if value is None:
                continue
            self.most_c[name] = max(value, self.most_c.get(name, value))
            if not self._worked or name not in self.rest_c:
                self.rest_c[name] = min(value, self.rest_c.get(name, value))
