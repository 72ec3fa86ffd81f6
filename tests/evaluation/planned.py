"""Ramps that plan themselves: `python -m tests.evaluation.planned --scenarios 2000 --seed 9001`.

The same cards as in `cooling`, but power is what the ramp asks for; physics runs in step with it.
"""

from __future__ import annotations

import argparse
import math
from dataclasses import dataclass

import numpy as np

from burnin.core.meaning import Note, Reason
from burnin.core.reading import NotMeasured, ReadingReason
from burnin.core.sample import Sample, Telemetry
from burnin.guard.factory import GuardFacts, make_guards
from burnin.guard.guard_set import GuardSet
from burnin.thermal.own_plan.ramp_aim import Aim
from burnin.thermal.own_plan.ramp_decision import Do
from burnin.thermal.own_plan.ramp_planner import Ramp
from burnin.thermal.states import CANNOT_TELL, CooledBy
from tests.evaluation.guard_settings import settings_of
from tests.evaluation.physics import Array, Heat
from tests.evaluation.scenarios import ROW_S, Sensors, Setting, draw
from tests.evaluation.score import Named, Share, confusion

NOT_READ = NotMeasured(ReadingReason.NOT_READ())

LONGEST_S = 420.0
COOL_DOWN_S = 40.0
BUDGET_J = 5000.0
KEPT_FREE_K = 2.0
"""The ramp and its guard plan for limits that lie so far below the true ones."""


@dataclass(frozen=True)
class Ending:
    """How one planned ramp ended."""

    how: str
    why: Note | Reason | None
    at_s: float
    energy_j: float
    crossed: bool
    named: Named


def guards_of(setting: Setting, profile: str | None = None) -> GuardSet:
    """The guards of one card; the forecast keeps some kelvin free, because the ramp needs room."""
    settings = settings_of(profile)
    if profile is None:
        settings = settings.model_copy(update={"forecast_margin_c": KEPT_FREE_K})
    facts = GuardFacts(
        cooled_by=CooledBy.FANS if setting.has_fan else CooledBy.WATER,
        die_limit_c=setting.limit_c,
        hotspot_limit_c=setting.hotspot_limit_c,
        ambient_c=setting.ambient_c,
        hotspot_seen=setting.hotspot_limit_c is not None,
    )
    return make_guards(settings, facts)


class PlannedRun:
    """One card's guards and ramp; asked for a power after every row."""

    def __init__(self, setting: Setting) -> None:
        self.setting = setting
        self.guards = guards_of(setting)
        assert self.guards.forecast is not None
        self.forecast = self.guards.forecast
        top_w = max(w for _, w in setting.plan)
        aim = Aim(top_w=top_w, idle_w=setting.idle_w, budget_j=BUDGET_J)
        self.ramp = Ramp(aim, self.forecast.watch)
        self.power_w = setting.idle_w
        self.how = ""
        self.why: Note | Reason | None = None
        self.ended_s = math.inf
        self.energy_j = 0.0
        self.crossed = False

    @property
    def over(self) -> bool:
        return self.how != ""

    def see(self, sample: Sample) -> None:
        if self.over:
            self.guards.observe(sample)
            return
        trip = self.guards.judge(sample)
        if trip is not None:
            self._end("stop", trip.reason, sample.elapsed_s)
            return
        row = self.forecast.row(sample)
        if row is None or row.time_s < 3.0:
            return
        begun = self.ramp.watts != self.setting.idle_w
        chosen = self.ramp.decide(row) if begun else self.ramp.begin(row)
        self.power_w = chosen.watts or self.setting.idle_w
        if chosen.do in {Do.STOP, Do.DONE}:
            self._end(str(chosen.do), chosen.why, row.time_s)

    def _end(self, how: str, why: Note | Reason | None, at_s: float) -> None:
        self.how, self.why, self.ended_s = how, why, at_s
        self.energy_j = self.ramp.energy_j
        self.power_w = self.setting.idle_w

    def ending(self) -> Ending:
        s = self.setting
        sound = "healthy air" if s.has_fan else "healthy loop"
        began = math.isinf(s.fault_at_s) or self.ended_s > s.fault_at_s
        truth = s.kind if began else sound
        chances = self.forecast.watch.probabilities()
        likeliest = max(chances, key=lambda k: chances[k])
        state, probability = self.forecast.state()
        named = Named(truth, str(state), str(likeliest), probability)
        return Ending(self.how, self.why, self.ended_s, self.energy_j, self.crossed, named)


def run(count: int, seed: int) -> tuple[list[Setting], list[Ending]]:
    """Draw `count` cards and let each plan its own ramp."""
    settings, cards = draw(count, seed)
    rng = np.random.default_rng([seed, 2])
    idle = np.array([s.idle_w for s in settings])
    heat = Heat(cards, idle, np.array([s.warm_k for s in settings]))
    sensors = Sensors(settings, heat.die_c(), rng)
    runs = [PlannedRun(s) for s in settings]
    gain = np.array([s.power_gain for s in settings])
    limit = np.array([s.limit_c for s in settings])
    spot_limit = np.array([s.hotspot_limit_c or math.inf for s in settings])
    delay = np.array([s.stop_latency_s for s in settings])
    asked: Array = idle.copy()
    held: Array = idle.copy()
    for k in range(round(LONGEST_S / ROW_S)):
        now = k * ROW_S
        power = held * gain * (1.0 + 0.015 * rng.normal(size=count))
        if k:
            heat.advance(power, ROW_S)
        die, spot = heat.die_c(), heat.hotspot_c(power)
        codes, spot_codes = sensors.read(die, spot)
        over = (die >= limit) | (spot >= spot_limit)
        live = False
        for i, r in enumerate(runs):
            r.crossed |= bool(over[i])
            if now > r.ended_s + COOL_DOWN_S:
                continue
            live = True
            seen = r.setting.hotspot_limit_c is not None
            telemetry = Telemetry(
                gpu_temp_c=float(codes[i]),
                power_w=round(float(power[i]), 1),
                hotspot_temp_c=float(spot_codes[i]) if seen else NOT_READ,
                fan_rpm=float(round(heat.rpm[i])) if r.setting.shows_rpm else NOT_READ,
            )
            r.see(Sample(now, "", "", telemetry))
            asked[i] = r.power_w
        for i, r in enumerate(runs):
            if r.over and now < r.setting.fault_at_s:
                cards.fan_lost_at_s[i] = cards.flow_lost_at_s[i] = np.inf
        gone = np.array([now >= r.ended_s + d for r, d in zip(runs, delay, strict=True)])
        stopping = np.array([r.over for r in runs])
        held = np.where(stopping & ~gone, held, asked)
        if not live:
            break
    return settings, [r.ending() for r in runs]


def report(settings: list[Setting], endings: list[Ending]) -> str:
    """Markdown: crossings, false stops, budget, naming."""
    pairs = list(zip(settings, endings, strict=True))
    well = [(s, e) for s, e in pairs if e.named.true_kind.startswith("healthy")]
    really = [(s, e) for s, e in well if math.isinf(s.fault_at_s)]
    dry = [e for s, e in pairs if s.kind == "no coolant"]
    false = Share(sum(e.how != "done" for _, e in really), len(really))
    lines = [
        f"{len(pairs)} planned ramps",
        "",
        f"limit crossed: {Share(sum(e.crossed for e in endings), len(endings))}",
        f"false stops of healthy cards: {false}",
        f"dry blocks over {BUDGET_J / 1000:.0f} kJ: "
        f"{Share(sum(e.energy_j > BUDGET_J for e in dry), len(dry))}, "
        f"most {max((e.energy_j for e in dry), default=0.0):.0f} J",
        f"median length: {np.median([e.at_s for e in endings]):.0f} s",
        "",
        confusion([e.named for e in endings]),
    ]
    return "\n".join(lines)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--scenarios", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--cases", action="store_true", help="also list what went wrong")
    chosen = parser.parse_args()
    settings: list[Setting] = []
    endings: list[Ending] = []
    for i in range(0, chosen.scenarios, 100):
        some, ended = run(min(100, chosen.scenarios - i), chosen.seed * 1000 + i)
        settings += some
        endings += ended
    print(report(settings, endings))
    if chosen.cases:
        for i, (s, e) in enumerate(zip(settings, endings, strict=True)):
            wrong = e.named.state not in {e.named.true_kind, CANNOT_TELL}
            false = math.isinf(s.fault_at_s) and e.how != "done"
            if e.crossed or wrong or false:
                print(i, s.kind, e)


if __name__ == "__main__":
    main()
