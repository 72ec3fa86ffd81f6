"""The card's link: trained width, speed that follows work and margin, errors where they are seen.

A link trains at 2.5 GT/s and is then raised; equalisation that fails leaves the fastest rate with
margin. Idle cards lower the rate by themselves (autonomous), a rate that cannot be held is lowered
for reliability; both leave their bit in the port's Link Status register.
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping

from burnin.sim.physics.contacts import ContactState
from burnin.sim.physics.lanes import (
    EQUALISES_DB,
    GENERATION_GTS,
    Pair,
    bit_error_ratio,
    dead_lanes,
    margin_db,
    pairs,
    riser_loss_db,
    trained_lanes,
)
from burnin.sim.physics.link_errors import ENDS, EndErrors, poisson
from burnin.sim.physics.power import Activity
from burnin.sim.scenario.model import Scenario

_IDLE_AFTER_S = 2.0
_HOLD_DB = 0.3
"""A running link is given up that much below the margin at which equalisation fails."""
_GB_S_PER_GTS = {1: 0.1, 2: 0.1, 3: 128 / 1040, 4: 128 / 1040, 5: 128 / 1040}
"""GB/s per GT/s of one lane: 8b/10b to generation 2, 128b/130b from 3 to 5."""
_PAYLOAD_SHARE = 256 / 280 * 0.95
"""256 bytes of payload with 24 of overhead, less acknowledgement and flow control."""
_BOTH_WAYS = 0.75
_REPLAY_S = 2e-6
_FRAMING_SHARE = 0.03
"""Share of bit errors that hit framing, which sends a link of 8 GT/s or more to Recovery."""
_RECOVERIES, _WITHIN_S = 4, 10.0
"""A port gives a rate up after that many recoveries within that time (a policy, no source)."""
_BACKGROUND = 0.01
"""Share of the link that core or memory work keeps busy."""


class Link:
    """The link between port and card."""

    def __init__(self, scenario: Scenario, seed: int) -> None:
        bench, card = scenario.bench, scenario.card
        self._chance = random.Random(f"{seed}/link")
        self._port_detects, self._card_detects = bench.receiver_detect, card.receiver_detect
        self._reversal = bench.lane_reversal
        self._drops_when_idle = card.drops_speed_when_idle
        self.width_limit = min(bench.slot_width_lanes, card.width_lanes)
        self.generation_limit = min(
            bench.slot_generation, card.generation, bench.held_generation or bench.slot_generation
        )
        self._uplink_gbs = math.inf
        if bench.uplink_width_lanes is not None and bench.uplink_generation is not None:
            generation = bench.uplink_generation
            lane_gbs = GENERATION_GTS[generation] * _GB_S_PER_GTS[generation]
            self._uplink_gbs = bench.uplink_width_lanes * lane_gbs
        self._regains_width = card.regains_width
        self._retimer_passes = bench.retimer_passes
        self._kept_low = bench.power_saving == "keeps_low"
        self._riser_db = {g: riser_loss_db(bench.riser_loss_db, g) for g in GENERATION_GTS}
        self._own_db = {
            (end, lane): self._chance.uniform(-0.4, 0.4)
            for end in ENDS
            for lane in range(card.width_lanes)
        }
        self.ends = {end: EndErrors() for end in ENDS}
        for end in ENDS:
            self.ends[end].count("RxErr", self._chance.randrange(4))
        self.lanes: tuple[int, ...] = ()
        self.generation = 1
        self.recoveries = 0
        self.reliability_bit = False
        self.autonomous_bit = False
        self._states: Mapping[str, ContactState] | None = None
        self._pairs: tuple[Pair, ...] = ()
        self._worst_db: dict[int, float] = {}
        self._dead: frozenset[int] = frozenset()
        self._quiet_s = 0.0
        self._time_s = 0.0
        self._recent: list[float] = []
        self._error_rate: dict[str, float] = dict.fromkeys(ENDS, 0.0)

    @property
    def up(self) -> bool:
        """Whether the link carries data."""
        return bool(self.lanes)

    @property
    def width_lanes(self) -> int:
        """Trained width."""
        return len(self.lanes)

    @property
    def speed_gts(self) -> float:
        """Present line rate."""
        return GENERATION_GTS[self.generation]

    def train(self, states: Mapping[str, ContactState]) -> None:
        """Train anew from the contacts' states: width first, then the fastest rate that holds."""
        self._see(states)
        self.lanes = trained_lanes(self._dead, self.width_limit, self._reversal)
        self.generation = 1
        self._see(states, anew=True)
        if self.up:
            self._raise_speed()

    def lose(self) -> None:
        """The card is gone: nothing answers on any lane."""
        self.lanes = ()
        self.generation = 1

    def payload_gbs(self, both_ways: bool) -> float:
        """Payload rate of one direction, GB/s (10^9)."""
        rate = self.width_lanes * self.speed_gts * _GB_S_PER_GTS[self.generation]
        rate *= self._retimer_passes
        rate = min(rate, self._uplink_gbs)
        lost = 1.0 + _REPLAY_S * max(self._error_rate.values())
        return rate * _PAYLOAD_SHARE * (_BOTH_WAYS if both_ways else 1.0) / lost

    def _see(self, states: Mapping[str, ContactState], anew: bool = False) -> None:
        if states == self._states and not anew:
            return
        self._states = dict(states)
        self._pairs = pairs(states, self.width_limit)
        self._dead = dead_lanes(self._pairs, self._port_detects, self._card_detects)
        used = [pair for pair in self._pairs if pair.lane in self.lanes]
        self._worst_db = {
            generation: min((self._margin(pair, generation) for pair in used), default=-math.inf)
            for generation in GENERATION_GTS
        }

    def _margin(self, pair: Pair, generation: int) -> float:
        own_db = self._own_db[pair.end_that_sees, pair.lane] - self._riser_db[generation]
        return margin_db(pair, generation, own_db)

    def _raise_speed(self) -> None:
        """Raise the rate to the fastest that equalises; a failed try is a recovery."""
        for generation in range(self.generation_limit, 0, -1):
            if self._worst_db[generation] >= EQUALISES_DB or generation == 1:
                self.generation = generation
                return
            self.recoveries += 1
            self.reliability_bit = True
            for end in ENDS:
                self.ends[end].count("RxErr", self._chance.randrange(3))

    def advance(
        self, seconds: float, states: Mapping[str, ContactState], activity: Activity
    ) -> None:
        """Let the link follow its contacts and the work."""
        if not self.up:
            return
        self._time_s += seconds
        self._see(states)
        widest = trained_lanes(self._dead, self.width_limit, self._reversal)
        comes_back = self._regains_width and len(widest) > len(self.lanes)
        if comes_back or any(lane in self._dead for lane in self.lanes):
            self.recoveries += 1
            self.reliability_bit = True
            self.train(states)
        if not self.lanes:
            return
        self._follow_work(seconds, activity)
        if self.generation > 1 and self._worst_db[self.generation] < EQUALISES_DB - _HOLD_DB:
            self._give_up_speed()
        self._count_errors(seconds, activity)

    def _follow_work(self, seconds: float, activity: Activity) -> None:
        """Lower the rate when idle, raise it when work comes; a port calls both autonomous."""
        was_quiet = self._quiet_s >= _IDLE_AFTER_S
        self._quiet_s = self._quiet_s + seconds if activity.idle else 0.0
        drops = self._drops_when_idle or self._kept_low
        if drops and self._quiet_s >= _IDLE_AFTER_S:
            if self.generation > 1:
                self.generation = 1
                self.autonomous_bit = True
        elif self._kept_low:
            return
        elif was_quiet and self._quiet_s == 0.0 and self.generation < self.generation_limit:
            self.autonomous_bit = True
            self._raise_speed()

    def _give_up_speed(self) -> None:
        """Recover at the next lower rate."""
        self.recoveries += 1
        self.reliability_bit = True
        self.generation -= 1
        self._recent.clear()

    def _recover(self, times: int) -> None:
        """Framing was lost: recover at the same rate, or lower where that happens too often."""
        self.recoveries += times
        self._recent += [self._time_s] * times
        self._recent = [then for then in self._recent if then > self._time_s - _WITHIN_S]
        if len(self._recent) >= _RECOVERIES:
            self._give_up_speed()

    def _count_errors(self, seconds: float, activity: Activity) -> None:
        background = 0.0 if activity.idle else _BACKGROUND
        traffic = {
            "card": max(background, activity.link_to_card),
            "port": max(background, activity.link_to_host),
        }
        self._error_rate = dict.fromkeys(ENDS, 0.0)
        if self._worst_db[self.generation] > 2.5:
            return
        framing = 0
        for pair in self._pairs:
            end = pair.end_that_sees
            if pair.lane not in self.lanes or traffic[end] == 0.0:
                continue
            ratio = bit_error_ratio(self._margin(pair, self.generation))
            rate = ratio * self.speed_gts * 1e9 * traffic[end]
            self._error_rate[end] += rate
            seen = poisson(self._chance, rate * seconds)
            if seen:
                self._file(end, pair.lane, seen)
                framing += poisson(self._chance, _FRAMING_SHARE * seen)
        if framing and self.generation >= 3:
            self._recover(framing)

    def _file(self, end: str, lane: int, seen: int) -> None:
        """Count errors at the end that sees them, and their echo at the end that sent."""
        errors, other = self.ends[end], self.ends["port" if end == "card" else "card"]
        link_layer = min(seen, poisson(self._chance, 0.03 * seen))
        errors.count("BadDLLP", link_layer)
        errors.count("BadTLP", seen - link_layer)
        errors.count("RxErr", min(seen, poisson(self._chance, 0.2 * seen)))
        other.count("Timeout", min(seen, poisson(self._chance, 0.01 * seen)))
        other.count("Rollover", min(seen, poisson(self._chance, 0.0005 * seen)))
        if self.generation >= 3:
            errors.lane_bits |= 1 << lane
