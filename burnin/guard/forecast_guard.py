"""The guard that knows the plan: ends a load before the crossing that the model foresees."""

from __future__ import annotations

import math

from burnin.core.meaning import Cause, Check, Term
from burnin.core.reading import known
from burnin.core.sample import FAN_NAMES, Sample, Telemetry
from burnin.guard.guard import Expectation, Trip
from burnin.guard.kind import GuardFacts, GuardKind
from burnin.guard.meanings import SIGNAL_TERMS, GuardNote, GuardReason, GuardTerm
from burnin.guard.pace import STEP_MEAN_S, Pace, PowerStep
from burnin.guard.stop_decision import Borne, Decision, Risk
from burnin.profile import guards as settings
from burnin.thermal.causes import told_causes
from burnin.thermal.cooling_verdict import name_state
from burnin.thermal.estimator import CoolingWatch
from burnin.thermal.forecast import Forecast
from burnin.thermal.inputs import Limits, Row, Setup
from burnin.thermal.meanings import CoolingCause, CoolingCheck, CoolingTerm
from burnin.thermal.states import (
    DRY_STATES,
    HEALTHY,
    CooledBy,
    Cooling,
    CoolingState,
    check,
    suspect,
    term_of,
)
from burnin.thermal.trials.judge import ForecastJudge, Told

CALM_S, ALERT_S, URGENT_S = 2.0, 1.0, 0.4
"""Seconds between forecasts while no crossing is in sight, while one is, and while one is near."""
NEAR_S = 15.0
ALERT_PROBABILITY = 0.05
ALSO_CHANCE = 0.1
"""Another way to lose the flow is named beside the likeliest from this probability."""
BLAMED_FROM = 0.25
"""A fault is named for a crossing from this share of the draws that cross."""
UNKNOWN_FROM = 0.5
"""No part is blamed where it is likelier than not that no model explains what is read."""
STEP_SHOWS_S = 2.5
"""A step of power may be missing in a reading for so long: late, held and averaged sensors (common
practice, no source)."""
SECONDS_S = 3.0
"""A sooner crossing is not told to the second: the sensor itself lags by so much."""


class ForecastGuard:
    """Implements `burnin.guard.guard.Guard` with the identified cooling model."""

    def __init__(self, setup: Setup, risk: Risk | None = None) -> None:
        self.watch = CoolingWatch(setup)
        self.trials = ForecastJudge()
        self._setup = setup
        accepted = risk or Risk()
        self._decision, self._leap_s = Decision(accepted), accepted.leap_s
        self._pace = Pace(setup.limits.die_c, setup.temp_step_c)
        self._power_step = PowerStep(STEP_SHOWS_S, STEP_MEAN_S)
        self._looked_s = -math.inf
        self._seen_c: float | None = None
        self._seen_w = 0.0
        self._stage: str | None = None

    @property
    def name(self) -> str:
        """Its name in the record."""
        return "forecast"

    def judge(self, sample: Sample) -> Trip | None:
        """Trip when the forecast crossing is as certain as its nearness asks."""
        self.note_stage(sample.stage)
        row = self.row(sample)
        return None if row is None else self.see(row)

    def observe(self, sample: Sample) -> None:
        """Learn from a sample that nothing can be stopped on any more."""
        self.note_stage(sample.stage)
        row = self.row(sample)
        if row is not None:
            self.watch.see(row)
            self.trials.see(self.watch)

    def note_stage(self, stage: str) -> None:
        """Another stage is other work."""
        if stage != self._stage and self._stage is not None:
            self.watch.other_work()
        self._stage = stage

    @staticmethod
    def row(sample: Sample) -> Row | None:
        """What of a sample matters here; None where temperature or power was not read."""
        t = sample.telemetry
        die_c, power_w = known(t.gpu_temp_c), known(t.power_w)
        if die_c is None or power_w is None:
            return None
        return Row(
            sample.elapsed_s, power_w, die_c, known(t.hotspot_temp_c), _turning(t),
            known(t.energy_j),
        )  # fmt: skip

    def see(self, row: Row) -> Trip | None:
        """`judge` for a bare row of telemetry."""
        self._pace.see(row.time_s, row.die_c)
        self._power_step.see(row.time_s, row.power_w)
        stepped = self.watch.see(row)
        self.trials.see(self.watch)
        if not stepped or not self._due(row):
            return None
        self._looked_s, self._seen_c = row.time_s, row.die_c
        self._seen_w = self.watch.power.level_w
        forecast = self.watch.look_ahead()
        sound = sum(p for state, p in self.watch.probabilities().items() if state in HEALTHY)
        stops = self._decision.stops(forecast, 1.0 - sound, self._borne(forecast))
        return self._trip(row) if stops else None

    def _borne(self, forecast: Forecast) -> Borne:
        """What the readings bear out. A hot spot leaps with the power: its own pace says little."""
        if forecast.spot_share > 0.5 and self._setup.limits.hotspot_c is not None:
            return Borne(0.0)
        return Borne(self._pace.reaches_in_s(), self._power_step.stepped() or self._steps_soon())

    def _steps_soon(self) -> bool:
        """Whether the plan has the power step up before a load that is stopped now is gone."""
        plan, now_s = self.watch.plan, self._looked_s
        if plan is None:
            return False
        soon = (watts for at_s, watts in plan.steps if 0.0 < at_s - now_s <= self._leap_s)
        return self._power_step.would_be(max(soon, default=0.0))

    def _due(self, row: Row) -> bool:
        if self._seen_c is None:
            return True
        forecast = self.watch.forecast
        power_moved_w = abs(self.watch.power.level_w - self._seen_w)
        moved = abs(row.die_c - self._seen_c) >= 2.0 or power_moved_w > 15.0
        wait_s = CALM_S
        if forecast is not None and forecast.any_probability > ALERT_PROBABILITY:
            wait_s = URGENT_S if forecast.earliest_in_s < NEAR_S else ALERT_S
        return row.time_s - self._looked_s >= (URGENT_S if moved else wait_s) - 1e-6

    def told(self, ahead_s: float) -> Told | None:
        """The reading so many seconds ahead with its 95 % interval; None before the first row."""
        if self.watch.bank is None:
            return None
        return self.trials.tell(self.watch, self.watch.plan_ahead(), ahead_s)

    def state(self) -> tuple[CoolingState, float]:
        """The most probable cooling state with its probability, or that it cannot be told yet."""
        return name_state(told_causes(self.watch))

    def _likely(self) -> Cooling:
        """The state that best explains the crossing: the likeliest fault, or healthy if none is."""
        if told_causes(self.watch)[Cooling.UNKNOWN] > UNKNOWN_FROM:
            return Cooling.UNKNOWN
        forecast, chances = self.watch.forecast, self.watch.probabilities()
        blame = dict(chances if forecast is None else forecast.blame)
        bare = chances[Cooling.MISSING_PASTE]
        if forecast is not None and forecast.spot_share > 0.5:
            blame[Cooling.MISSING_PASTE] = max(bare, blame.get(Cooling.MISSING_PASTE, 0.0))
        faults = {s: p for s, p in blame.items() if s not in HEALTHY}
        fault = max(faults, key=lambda s: faults[s], default=None)
        if fault is not None and faults[fault] > BLAMED_FROM:
            return fault
        return max(chances, key=lambda s: chances[s])

    def _nearest(self, forecast: Forecast) -> tuple[str, float]:
        """Which signal is to cross first, and its limit, °C."""
        limits = self._setup.limits
        if forecast.spot_share > 0.5 and limits.hotspot_c is not None:
            return "hotspot_temp_c", limits.hotspot_c
        return "gpu_temp_c", limits.die_c

    def _blamed(self) -> tuple[tuple[Term, ...], list[Cooling]]:
        """What the cooling is told to be, and the states behind that, likeliest first."""
        likely, (state, _) = self._likely(), self.state()
        term = term_of(likely)
        told, blamed = [term if state == likely else CoolingTerm.PERHAPS(state=term)], [likely]
        chances = self.watch.probabilities()
        if likely in DRY_STATES:  # a block without flow: dry, or with water that stands
            also = [s for s in DRY_STATES if s != likely and chances[s] > ALSO_CHANCE]
            told += [term_of(s) for s in also]
            blamed += also
        return tuple(told), blamed

    def _trip(self, row: Row) -> Trip:
        forecast = self.watch.forecast
        assert forecast is not None
        signal, limit = self._nearest(forecast)
        told, blamed = self._blamed()
        in_s = forecast.crossing_in_s
        when = GuardTerm.WITHIN_SECONDS if in_s < SECONDS_S else GuardTerm.IN_ABOUT
        crosses = (
            GuardReason.HELD_POWER_CROSSES
            if self.watch.plan is None
            else GuardReason.PLAN_CROSSES
        )
        reason = crosses(
            gpu_temp_c=row.die_c,
            power_w=self.watch.power.level_w,
            signal=SIGNAL_TERMS[signal](),
            limit_c=limit,
            when=when(crossing_in_s=in_s),
            sure_pct=100.0 * forecast.any_probability,
            cooling=told,
        )
        value = row.die_c if signal == "gpu_temp_c" else row.hotspot_c
        causes = [suspect(s, self.watch.cooled_by) for s in blamed]
        checks = [check(s, self.watch.cooled_by) for s in blamed]
        return Trip(
            self.name, signal, value, limit, reason, _either(causes), _both(checks),
            forecast.any_probability,
        )  # fmt: skip

    def expectation(self) -> Expectation | None:
        """The nearest limit and when the plan is expected to cross it."""
        forecast = self.watch.forecast
        if forecast is None:
            return None
        signal, limit = self._nearest(forecast)
        cooling = term_of(self.state()[0])
        if forecast.any_probability < 0.5:
            note = GuardNote.PEAK_EXPECTED(peak_c=forecast.peak_c, cooling=cooling)
            return Expectation(self.name, signal, limit, None, note)
        note = GuardNote.CROSSING_EXPECTED(
            limit_c=limit,
            crossing_in_s=forecast.crossing_in_s,
            sure_pct=100.0 * forecast.any_probability,
            cooling=cooling,
        )
        return Expectation(self.name, signal, limit, forecast.crossing_in_s, note)


def _turning(telemetry: Telemetry) -> float | None:
    """The mean speed of the fans that tell theirs, rpm: what moves the air; None: none does."""
    told = [known(getattr(telemetry, rpm)) for rpm, _ in FAN_NAMES]
    speeds = [rpm for rpm in told if rpm is not None]
    return sum(speeds) / len(speeds) if speeds else None


def _either(causes: list[Cause]) -> Cause:
    """All of them as one."""
    first, *rest = causes
    return CoolingCause.EITHER(first=first, second=_either(rest)) if rest else first


def _both(checks: list[Check]) -> Check:
    """All of them as one."""
    first, *rest = checks
    return CoolingCheck.BOTH(first=first, second=_both(rest)) if rest else first


def _build(said: settings.Forecast, facts: GuardFacts) -> ForecastGuard | None:
    """The guard aims below what the simple guards allow, by its own margin or theirs."""
    if not said.forecast:
        return None
    margin_c = said.temp_margin_c if said.forecast_margin_c is None else said.forecast_margin_c
    spot_c = None if facts.hotspot_seen is False else said.hotspot_temp_limit_c
    limits = Limits(
        said.gpu_temp_limit_c - margin_c, None if spot_c is None else spot_c - margin_c
    )
    cooled_by = None if said.cooling is None else CooledBy(said.cooling)
    setup = Setup(
        limits,
        facts.plan,
        facts.ambient_c,
        temp_step_c=facts.temp_step_c,
        cooled_by=cooled_by,
    )
    return ForecastGuard(setup)


FORECAST = GuardKind(
    "forecast",
    settings.Forecast,
    _build,
    "burnin/thermal/MODEL.md; what it was tried on: tests/evaluation/RESULTS.md",
    40,
    ("plan", "ambient_c", "hotspot_seen", "temp_step_c"),
    needs=("gpu_temp_c", "power_w", "fan_rpm"),
)
