"""Watches one card's heat: rows in, forecast and state of the cooling out."""

from __future__ import annotations

import math

from burnin.thermal.failure_branches import Step
from burnin.thermal.failure_search import SETTLE_S, FailureSearch
from burnin.thermal.filter_bank import Bank
from burnin.thermal.forecast import Fans, Forecast, Forecaster
from burnin.thermal.heat_network import (
    LAG,
    share_of_speed,
)
from burnin.thermal.hotspot import HotSpot
from burnin.thermal.inputs import HELD_S, IDLE_W, JUMP_SHARE, JUMP_W, Plan, Row, Setup
from burnin.thermal.power_meter import Power, PowerMeter
from burnin.thermal.priors import hypotheses
from burnin.thermal.recent_rows import PlanGain, Recent
from burnin.thermal.starting_state import SHOWS_S, Start, begins_k, settled
from burnin.thermal.states import HEALTHY, CooledBy, Cooling
from burnin.thermal.unexplained import Unexplained

STEP_S = 1.0
"""The filter's step while nothing changes."""
QUICK_STEP_S, LEAP_STEP_S, LEAP_K = 0.4, 0.2, 3.0
"""Its step when the code has changed, where the information is; shorter when it leaps."""
LATE_COUNTS = 0.6
"""How much of what a power may still have to go is taken for a swing that the die has followed."""
FINE_SHARE = 0.1
"""A reading between whole steps comes from a finer sensor: its cell is that share of a step."""
LONGEST_GAP_S, MOST_PIECES = 3600.0, 400
"""A gap between rows (a run that went on days later) is carried in so many pieces at most; of one
longer than an hour nothing is left to carry, as all has settled."""
TOLD_WEIGHT = 12.0
"""Logarithm of how much likelier a state is that the bench vouches for (a loop is attached or not
in plain sight)."""
LOADED_SHARE = 0.5
"""Only over so much of the most power seen may a misfit say that no model explains the card."""
LATE_S = 15.0
"""A load may end so much later than it was to."""
SETTLED_KIND, SETTLED_KIND_S = 0.999, 15.0
"""What cools a card is settled on once so sure for so long."""


class CoolingWatch:
    """Identifies the cooling row by row; a new one for every run."""

    def __init__(self, setup: Setup) -> None:
        self.setup = setup
        self.plan = setup.plan
        self.ends_s: float | None = None
        """Until when a load of unknown watts lasts, where that is known."""
        self.cooled_by = setup.cooled_by
        if self.cooled_by is None and setup.has_fan is not None:
            self.cooled_by = CooledBy.FANS if setup.has_fan else CooledBy.WATER
        self._told_kind = self.cooled_by is not None
        self._kind_s = math.inf
        self._other_work = False
        self.meter = PowerMeter()
        self.power = Power(0.0, 0.0, 0.0)
        self.spot = HotSpot()
        self.unexplained = Unexplained()
        self.forecaster = Forecaster(setup.limits)
        self.forecast: Forecast | None = None
        self.bank: Bank | None = None
        self.rows = 0
        self.steps = 0
        self._gain = PlanGain()
        self.last: Row | None = None
        self.coolest_c: float | None = None
        self.most_w = 0.0
        self._energy_j = self._span_s = 0.0
        self._code: float | None = None
        self._spot_code: float | None = None
        self._jump_s = -math.inf
        self._recent = Recent(setup.temp_step_c)
        self._early: list[Row] = []

    @property
    def alarm_at_s(self) -> float | None:
        """When the readings last changed beyond chance; None: never so far."""
        return None if self.bank is None else self._failures.alarm_at_s

    @property
    def has_fan(self) -> bool | None:
        """Whether the card's own fans cool it; None: not known."""
        return None if self.cooled_by is None else self.cooled_by is CooledBy.FANS

    def see(self, row: Row) -> bool:
        """Take in one row, in order of time; true when the filter took a step."""
        self.rows += 1
        self.coolest_c = min(row.die_c, row.die_c if self.coolest_c is None else self.coolest_c)
        if self.bank is None or self.last is None:
            return self._start(row)
        dt = row.time_s - self.last.time_s
        if dt <= 0.0:
            return False
        self.power = self.meter.take(row.time_s, row.power_w, row.energy_j)
        stepped = False
        if self._span_s > 0.0:
            mean_w = self._energy_j / self._span_s
            if abs(self.power.level_w - mean_w) > max(JUMP_W, JUMP_SHARE * mean_w):
                self._step(self.last)
                self._jump_s = self.last.time_s
                if self._other_work and self.power.level_w > mean_w:
                    self._other_work = False
                    self.bank.other_work()
                stepped = True
        self._energy_j += self.power.mean_w * dt
        self._span_s += dt
        self.last = row
        if self._span_s >= self._step_due_s(row) - 1e-6:
            self._step(row)
            stepped = True
        return stepped

    def _start(self, row: Row) -> bool:
        """Begin at once where the card idles; under load only when it shows what it came from."""
        if self._early and row.time_s <= self._early[-1].time_s:
            return False
        self._early.append(row)
        first = self._early[0]
        if first.power_w > IDLE_W:
            shown = row.die_c - first.die_c > begins_k(first.power_w)
            if row.time_s - first.time_s < SHOWS_S and not shown:
                return False
        self.power = self.meter.take(first.time_s, first.power_w, first.energy_j)
        self._begin(first, row)
        rows, self._early = self._early[1:], []
        for later in rows:
            self.rows -= 1
            self.see(later)
        return True

    def _step_due_s(self, row: Row) -> float:
        """How long the present step may last, given what this row reads."""
        moved = abs(row.die_c - (self._code or 0.0))
        if row.hotspot_c is not None and self._spot_code is not None:
            moved = max(moved, abs(row.hotspot_c - self._spot_code))
        if moved >= LEAP_K:
            return LEAP_STEP_S
        return QUICK_STEP_S if moved > 0.0 else STEP_S

    def _begin(self, row: Row, shown: Row) -> None:
        """The first row, and the one at which the card has shown whether it was under load."""
        room_c, room_sd_k = self.setup.ambient_c, 1.2
        if room_c is None:
            room_c, room_sd_k = min(max(row.die_c - 5.0, 14.0), 27.0), 4.0
        if self.cooled_by is None and row.fan_rpm is not None:
            self.cooled_by = CooledBy.FANS
        settled_w, settled_sd_w = settled(row, shown)
        self.spot = HotSpot(settled_w, settled_sd_w)
        given = self.setup.ambient_c is not None
        start = Start(row.die_c, settled_w, settled_sd_w, room_c, room_sd_k, row.power_w, given)
        self.bank = Bank(hypotheses(None, self.cooled_by), start)
        self._failures = FailureSearch(self.bank)
        self._code, self._spot_code = row.die_c, row.hotspot_c
        self.last = row
        self._first_s = self._kind_s = row.time_s

    def _cell(self, code_c: float) -> tuple[float, float]:
        step_c = self.setup.temp_step_c
        off = abs(code_c / step_c - round(code_c / step_c))
        half = 0.5 * step_c if off < 1e-6 else FINE_SHARE * step_c
        return code_c - half, code_c + half

    def _step(self, row: Row) -> None:
        bank = self.bank
        assert bank is not None
        dt, power = self._span_s, self._energy_j / self._span_s
        self.most_w = max(self.most_w, power)
        self._energy_j = self._span_s = 0.0
        self.steps += 1
        share = None if row.fan_rpm is None else share_of_speed(row.fan_rpm)
        cell = self._cell(row.die_c)
        leader = int(bank.log_weight.argmax())
        self._recent.take(row)
        swing_w, rate_k_per_s, late_w = self.power.swing_w, 0.0, 0.0
        if swing_w == 0.0:  # what the die follows of a swing is counted already
            rate_k_per_s, late_w = self._recent.rate_k_per_s(), self._recent.late_w(self.plan)
        swing_w = max(swing_w, LATE_COUNTS * late_w)
        dt = step_s = min(dt, LONGEST_GAP_S)
        longest_s = max(2.0, dt / MOST_PIECES)
        while dt > 0.0:
            piece = min(dt, longest_s)
            dt -= piece
            bank.predict(piece, power, share)
            seen = cell if dt <= 0.0 else None
            self._failures.note(Step(piece, power, share, seen, swing_w, rate_k_per_s))
            last_piece_s = piece
        residual = bank.observe(*cell, swing_w, rate_k_per_s)
        loaded = power > LOADED_SHARE * self.most_w
        settled_now = loaded and row.time_s - self._jump_s >= SETTLE_S
        self.unexplained.add(step_s, power, cell, bank.fit, settled=settled_now)
        self._code, self._spot_code = row.die_c, row.hotspot_c
        if row.hotspot_c is not None:
            lag_s = 0.3 + math.exp(float(bank.x[leader, LAG]))
            excess_k = row.hotspot_c - row.die_c
            self.spot.add(last_piece_s, power, excess_k, lag_s, row.die_c, late_w)
        self._settle_kind(row.time_s)
        self._gain.take(self.plan, row.time_s, power, self._jump_s)
        self._failures.see_residual(row, float(residual[leader]), self._jump_s)
        self._failures.see_fans(row, last_piece_s)

    def other_work(self) -> None:
        """Say that other work than so far is to begin: it may heat the die more or less a watt.

        What the last work left behind still cools down; the next rise of power is the new work's.
        """
        self._other_work = True

    def _settle_kind(self, now_s: float) -> None:
        """A card once known to sit in a stream of air stays there: a card's cooler does not change.

        Only that kind is settled on: among its hypotheses is one without any stream, so that a dry
        block taken for it would still be foreseen.
        """
        assert self.bank is not None
        if self._told_kind or self.cooled_by is CooledBy.FANS:
            return
        if self.cooled_by is None:
            fits = [h.cooled_by is CooledBy.STREAM for h in self.bank.hypotheses]
            if float(self.bank.weights()[fits].sum()) < SETTLED_KIND:
                self._kind_s = now_s
            if now_s - self._kind_s < SETTLED_KIND_S:
                return
            self.cooled_by = CooledBy.STREAM
        self.bank.only(CooledBy.STREAM)

    def assume(self, states: frozenset[Cooling]) -> None:
        """Take as told from outside that the cooling is in one of `states`.

        What it is told can still be outweighed by what is seen: no hypothesis is taken away.
        """
        if self.bank is None:
            raise ValueError("no row was seen yet")
        for place, h in enumerate(self.bank.hypotheses):
            if h.state not in states:
                self.bank.log_weight[place] -= TOLD_WEIGHT

    def plan_ahead(self) -> Plan:
        """The plan, or the present power held where there is none."""
        if self.last is None:
            raise ValueError("no row was seen yet")
        if self.plan is not None:
            return self.plan
        now = self.last.time_s
        until_s = max(now + 120.0, self._first_s + HELD_S)
        if self.ends_s is not None:
            until_s = max(self.ends_s, now + LATE_S)
        return Plan(((now, self.power.level_w),), until_s)

    def what_if(self, plan: Plan) -> Forecast:
        """The forecast after the last row if this were the plan from now on."""
        bank, last = self.bank, self.last
        if bank is None or last is None:
            raise ValueError("no row was seen yet")
        share = None if last.fan_rpm is None else share_of_speed(last.fan_rpm)
        return self.forecaster.look(
            bank, self.spot, plan, last.time_s, self._gain.value, self.power.level_w, Fans(share)
        )

    def look_ahead(self) -> Forecast:
        """A fresh forecast after the last row."""
        self.forecast = self.what_if(self.plan_ahead())
        return self.forecast

    def probabilities(self) -> dict[Cooling, float]:
        """Probability of each state by the models alone; they sum to 1."""
        result = dict.fromkeys(Cooling, 0.0)
        if self.bank is None:
            told = [state for state in Cooling if state is not Cooling.UNKNOWN]
            return result | dict.fromkeys(told, 1.0 / len(told))
        for h, weight in zip(self.bank.hypotheses, self.bank.weights().tolist(), strict=True):
            result[h.state] += weight
        return self.with_hot_spot(result)

    def with_hot_spot(self, result: dict[Cooling, float]) -> dict[Cooling, float]:
        """Of a sound cooler the paste under the hot spot may still be missing."""
        if self.spot.seen:
            bare = self.spot.bare_probability
            sound = sum(result[s] for s in HEALTHY)
            for s in HEALTHY:
                result[s] *= 1.0 - bare
            result[Cooling.MISSING_PASTE] = bare * sound
        return result
