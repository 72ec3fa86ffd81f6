"""The guard that knows the plan: ends a load before the crossing that the model foresees."""

from __future__ import annotations

import math

from burnin.core.reading import known
from burnin.core.sample import Sample
from burnin.guard.guard import Expectation, Trip
from burnin.thermal.cooling_verdict import name_state
from burnin.thermal.estimator import IDLE_W, CoolingWatch, Row, Setup
from burnin.thermal.ramp_planner import DRY_STATES
from burnin.thermal.states import HEALTHY, CooledBy, Cooling, check, suspect
from burnin.thermal.stop_decision import Decision, Risk

CALM_S, ALERT_S, URGENT_S = 2.0, 1.0, 0.4
"""Seconds between forecasts while no crossing is in sight, while one is, and while one is near."""
NEAR_S = 15.0
ALERT_PROBABILITY = 0.05
ALSO_CHANCE = 0.1
"""Another way to lose the flow is named beside the likeliest from this probability."""
BLAMED_FROM = 0.25
"""A fault is named for a crossing from this share of the draws that cross."""
SECONDS_S = 3.0
"""A sooner crossing is not told to the second: the sensor itself lags by so much."""
IDLE_SHARE = 1.3
"""A card in a stream may idle above `IDLE_W`: idle is up to so much of the least power seen."""


class ForecastGuard:
    """Implements `burnin.guard.guard.Guard` with the identified cooling model."""

    def __init__(self, setup: Setup, risk: Risk | None = None) -> None:
        self.watch = CoolingWatch(setup)
        self._setup = setup
        self._decision = Decision(risk or Risk())
        self._looked_s = -math.inf
        self._loaded_from_s = math.inf
        self._seen_c: float | None = None
        self._seen_w = 0.0
        self._least_w = math.inf
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
            sample.elapsed_s, power_w, die_c, known(t.hotspot_temp_c), known(t.fan_rpm),
            known(t.energy_j),
        )  # fmt: skip

    def see(self, row: Row) -> Trip | None:
        """`judge` for a bare row of telemetry."""
        self._least_w = min(self._least_w, row.power_w)
        idle_w = IDLE_W
        if self.watch.cooled_by is CooledBy.STREAM:
            idle_w = max(IDLE_W, IDLE_SHARE * self._least_w)
        if row.power_w <= idle_w or math.isinf(self._loaded_from_s):
            self._loaded_from_s = row.time_s
        if not self.watch.see(row) or not self._due(row):
            return None
        self._looked_s, self._seen_c = row.time_s, row.die_c
        self._seen_w = self.watch.power.level_w
        forecast = self.watch.look_ahead()
        sound = sum(p for state, p in self.watch.probabilities().items() if state in HEALTHY)
        loaded_s = row.time_s - self._loaded_from_s
        return self._trip(row) if self._decision.stops(forecast, 1.0 - sound, loaded_s) else None

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

    def state(self) -> tuple[str, float]:
        """The most probable cooling state with its probability, or that it cannot be told yet."""
        return name_state(self.watch.probabilities())

    def _likely(self) -> Cooling:
        """The state that best explains the crossing: the likeliest fault, or healthy if none is."""
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

    def _trip(self, row: Row) -> Trip:
        forecast, limits = self.watch.forecast, self._setup.limits
        assert forecast is not None
        spot = forecast.spot_share > 0.5 and limits.hotspot_c is not None
        word = "hot spot" if spot else "GPU"
        limit = limits.hotspot_c if spot else limits.die_c
        likely = self._likely()
        state, _ = self.state()
        told, look = (state if state == likely else f"perhaps {likely}"), [likely]
        chances = self.watch.probabilities()
        if likely in DRY_STATES:  # a block without flow: dry, or with water that stands
            look += [s for s in DRY_STATES if s != likely and chances[s] > ALSO_CHANCE]
            told = " or ".join([told, *map(str, look[1:])])
        in_s = forecast.crossing_in_s
        when = "within seconds" if in_s < SECONDS_S else f"in about {in_s:.0f} s"
        reason = (
            f"GPU at {row.die_c:.0f} °C and {self.watch.power.level_w:.0f} W; "
            f"{'this power, held,' if self.watch.plan is None else 'the plan'} takes the {word} "
            f"over {limit:.0f} °C {when} "
            f"({100 * forecast.any_probability:.0f} % sure): cooling is {told}"
        )
        value = row.hotspot_c if spot else row.die_c
        signal = "hotspot_temp_c" if spot else "gpu_temp_c"
        return Trip(
            self.name,
            signal,
            value,
            limit,
            reason,
            ", or ".join(suspect(s, self.watch.cooled_by) for s in look),
            " ".join(check(s, self.watch.cooled_by) for s in look),
            forecast.any_probability,
        )

    def expectation(self) -> Expectation | None:
        """The nearest limit and when the plan is expected to cross it."""
        forecast = self.watch.forecast
        if forecast is None:
            return None
        limits = self._setup.limits
        spot = forecast.spot_share > 0.5 and limits.hotspot_c is not None
        signal = "hotspot_temp_c" if spot else "gpu_temp_c"
        limit = float(limits.hotspot_c) if spot and limits.hotspot_c else limits.die_c
        state, _ = self.state()
        if forecast.any_probability < 0.5:
            text = f"peak of about {forecast.peak_c:.0f} °C expected; cooling: {state}"
            return Expectation(self.name, signal, limit, None, text)
        text = (
            f"{limit:.0f} °C expected in {forecast.crossing_in_s:.0f} s "
            f"({100 * forecast.any_probability:.0f} %); cooling: {state}"
        )
        return Expectation(self.name, signal, limit, forecast.crossing_in_s, text)
