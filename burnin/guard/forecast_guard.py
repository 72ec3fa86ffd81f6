"""The guard that knows the plan: ends a load before the crossing that the model foresees."""

from __future__ import annotations

import math
from functools import partial

from burnin.core.sample import Sample
from burnin.guard.forecast_band import ForecastBand, Promise
from burnin.guard.forecast_cause import blamed_states, both, either, likeliest, nearest
from burnin.guard.forecast_row import row_of
from burnin.guard.guard import Expectation, Trip
from burnin.guard.kind import GuardFacts, GuardKind
from burnin.guard.meanings import SIGNAL_TERMS, GuardNote, GuardReason, GuardTerm
from burnin.guard.pace import STEP_MEAN_S, Pace, PowerStep
from burnin.guard.stop_decision import Borne, Decision, Risk
from burnin.guard.warning import GIVEN_FROM, StandingWarning, Warner
from burnin.profile import guards as settings
from burnin.thermal.causes import told_causes
from burnin.thermal.cooling_verdict import name_state
from burnin.thermal.estimator import CoolingWatch
from burnin.thermal.forecast import Forecast
from burnin.thermal.inputs import IDLE_W, Limits, Plan, Row, Setup
from burnin.thermal.states import (
    HEALTHY,
    CooledBy,
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
STEP_SHOWS_S = 2.5
"""A step of power may be missing in a reading for so long: late, held and averaged sensors (common
practice, no source)."""
SECONDS_S = 3.0
"""A sooner crossing is not told to the second: the sensor itself lags by so much."""


class ForecastGuard:
    """Implements `burnin.guard.guard.Guard` with the identified cooling model."""

    row = staticmethod(row_of)

    def __init__(self, setup: Setup, risk: Risk | None = None) -> None:
        self.watch = CoolingWatch(setup)
        self._setup = setup
        accepted = risk or Risk()
        self._decision, self._leap_s = Decision(accepted), accepted.leap_s
        self._pace = Pace(setup.limits.die_c, setup.temp_step_c)
        self._power_step = PowerStep(STEP_SHOWS_S, STEP_MEAN_S)
        self._looked_s = -math.inf
        self._seen_c: float | None = None
        self._seen_w = 0.0
        self._stage: str | None = None
        self._warner = Warner()
        self.trials = ForecastJudge()
        self.band = ForecastBand()

    @property
    def name(self) -> str:
        """Its name in the record."""
        return "forecast"

    @property
    def warning(self) -> StandingWarning | None:
        """The warning that stands after the last row."""
        return self._warner.standing

    def judge(self, sample: Sample) -> Trip | None:
        """Trip when the forecast crossing is as certain as its nearness asks."""
        self.note_stage(sample.stage)
        row = row_of(sample)
        trip = None if row is None else self.see(row)
        if not sample.loaded:
            self._warner.load_is_off()
        if row is None:
            return None
        if sample.loaded and row.power_w >= IDLE_W:
            self.band.see(row, self.watch.power.mean_w, self._fresh(row))
        else:
            self.band.load_is_off()
        return trip

    def observe(self, sample: Sample) -> None:
        """Learn from a sample that nothing can be stopped on any more."""
        self._warner.load_is_off()
        self.band.load_is_off()
        self.note_stage(sample.stage)
        row = row_of(sample)
        if row is not None:
            self._learn(row)

    def note_stage(self, stage: str) -> None:
        """Another stage is other work."""
        if stage != self._stage and self._stage is not None:
            self.watch.other_work()
        self._stage = stage

    def see(self, row: Row) -> Trip | None:
        """`judge` for a bare row of telemetry."""
        self._pace.see(row.time_s, row.die_c)
        self._power_step.see(row.time_s, row.power_w)
        if not self._learn(row) or not self._due(row):
            return None
        self._looked_s, self._seen_c = row.time_s, row.die_c
        self._seen_w = self.watch.power.level_w
        forecast = self.watch.look_ahead()
        self._warn(row, forecast)
        sound = sum(p for state, p in self.watch.probabilities().items() if state in HEALTHY)
        stops = self._decision.stops(forecast, 1.0 - sound, self._borne(forecast))
        return self._trip(row) if stops else None

    def _learn(self, row: Row) -> bool:
        """Whether the row had anything new; forecasts whose time has come are judged by it."""
        new = self.watch.see(row)
        self.trials.see(self.watch)
        return new

    def _fresh(self, row: Row) -> tuple[Promise, ...]:
        """What the forecast that was made with this row promises, as wide as this run has shown."""
        forecast = self.watch.forecast
        if forecast is None or self._looked_s != row.time_s:
            return ()
        plan = self.watch.plan_ahead()
        return tuple(
            Promise(self.trials.widened(self.watch, plan, ahead), ahead.mean_w)
            for ahead in forecast.ahead
        )

    def _warn(self, row: Row, forecast: Forecast) -> None:
        """A card below `IDLE_W` is not loaded, whoever says so."""
        if row.power_w < IDLE_W:
            self._warner.load_is_off()
        else:
            told = partial(self._would_warn, row, forecast)
            self._warner.see(row.time_s, forecast, told)

    def _would_warn(self, row: Row, forecast: Forecast) -> StandingWarning:
        signal, limit_c = nearest(forecast, self._setup.limits)
        likely = likeliest(self.watch)
        return StandingWarning(
            self.name, signal, row.die_c if signal == "gpu_temp_c" else row.hotspot_c, limit_c,
            forecast.any_probability, forecast.crossing_in_s, suspect(likely, self.watch.cooled_by),
            check(likely, self.watch.cooled_by), row.time_s, row.time_s,
        )  # fmt: skip

    def foreseen(self, plan: Plan) -> StandingWarning | None:
        """What it would warn of if this were the plan from now on; None: of nothing."""
        last, forecast = self.watch.last, self.watch.what_if(plan)
        if last is None or forecast.any_probability < GIVEN_FROM:
            return None
        return self._would_warn(last, forecast)

    def _borne(self, forecast: Forecast) -> Borne:
        """What the readings bear out. A hot spot leaps with the power: its own pace says little."""
        if forecast.spot_share > 0.5 and self._setup.limits.hotspot_c is not None:
            return Borne(0.0)
        leaps_in_s = 0.0 if self._power_step.stepped() else self._steps_in_s()
        return Borne(self._pace.reaches_in_s(), leaps_in_s)

    def _steps_in_s(self) -> float | None:
        """When the plan has the power step up, if before a load that is stopped now is gone."""
        plan, now_s = self.watch.plan, self._looked_s
        steps = () if plan is None else plan.steps
        soon = (
            at_s - now_s
            for at_s, watts in steps
            if 0.0 < at_s - now_s <= self._leap_s and self._power_step.would_be(watts)
        )
        return min(soon, default=None)

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

    def _trip(self, row: Row) -> Trip:
        forecast = self.watch.forecast
        assert forecast is not None
        signal, limit = nearest(forecast, self._setup.limits)
        told, blamed = blamed_states(self.watch)
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
            self.name, signal, value, limit, reason, either(causes), both(checks),
            forecast.any_probability,
        )  # fmt: skip

    def expectation(self) -> Expectation | None:
        """The nearest limit and when the plan is expected to cross it."""
        forecast = self.watch.forecast
        if forecast is None:
            return None
        signal, limit = nearest(forecast, self._setup.limits)
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
