"""The evaluation's own heat: a finer network than the guard's, another fan law, natural air.

Written apart from `burnin.guard`: it imports nothing of it. Many cards are integrated at once, one
array element a card. Nodes: die, lid, block base, block body, board, water in the block, loop
water. Temperatures in °C, powers in W, heat capacities in J/K, conductances in W/K, time in s.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

STEP_S = 0.02
"""Integration step; the fastest node (die, about 1 J/K behind 0.02 K/W) needs less than 0.04 s."""


@dataclass
class CardHeat:
    """Constants of many cards, one element a card; `*_at_s` is when a fault begins (inf: never)."""

    room_c: Array
    die_share: Array
    die_j_per_k: Array
    lid_j_per_k: Array
    base_j_per_k: Array
    body_j_per_k: Array
    board_j_per_k: Array
    die_lid_k_per_w: Array
    lid_base_k_per_w: Array
    base_body_k_per_w: Array
    board_base_w_per_k: Array
    board_room_w_per_k: Array
    hotspot_k_per_w: Array
    is_air: Array
    still_air_w_per_k: Array
    fan_w_per_k: Array
    fan_exponent: Array
    fan_max_rpm: Array
    fan_on_c: Array
    fan_full_c: Array
    fan_least_share: Array
    fan_stops_at_all: Array
    fan_lost_at_s: Array
    block_water_j_per_k: Array
    loop_water_j_per_k: Array
    block_water_w_per_k: Array
    flow_w_per_k: Array
    stagnant_w_per_k: Array
    radiator_w_per_k: Array
    flow_lost_at_s: Array

    def take(self, index: NDArray[np.intp]) -> CardHeat:
        """The cards at `index`."""
        return CardHeat(**{f.name: getattr(self, f.name)[index] for f in fields(self)})


class Heat:
    """State of many cards, advanced by `advance`; all at rest at `idle_w` when it begins."""

    def __init__(self, cards: CardHeat, idle_w: Array, warm_k: Array) -> None:
        self.cards = cards
        self.time_s = 0.0
        n = len(cards.room_c)
        self.fan_running = cards.fan_stops_at_all < 0.5
        self.rpm = np.where(
            self.fan_running & (cards.is_air > 0.5), cards.fan_least_share * cards.fan_max_rpm, 0.0
        )
        self.nodes = np.tile(cards.room_c, (7, 1)) + np.zeros((7, n))
        self._settle(idle_w)
        self.nodes[:6] += warm_k

    def _settle(self, idle_w: Array) -> None:
        """A card that has idled a while: what stands in still air has warmed by 20 K at most."""
        c = self.cards
        loss = self._to_surroundings()
        rise = np.minimum(idle_w / loss, 20.0)
        self.nodes[6] = c.room_c + np.where(c.is_air > 0.5, 0.0, idle_w / c.radiator_w_per_k)
        block = np.where(c.is_air > 0.5, c.room_c + rise, self.nodes[6] + rise)
        self.nodes[2:6] = block
        self.nodes[1] = block + idle_w * c.die_share * c.lid_base_k_per_w
        self.nodes[0] = self.nodes[1] + idle_w * c.die_share * c.die_lid_k_per_w

    def _to_surroundings(self) -> Array:
        c = self.cards
        both = c.block_water_w_per_k + c.flow_w_per_k
        wet = c.flow_w_per_k * c.block_water_w_per_k / np.maximum(both, 1e-9)
        air = c.still_air_w_per_k + self._forced()
        return np.where(c.is_air > 0.5, air, np.where(wet > 0.0, wet, c.still_air_w_per_k))

    def _forced(self) -> Array:
        c = self.cards
        share = np.maximum(self.rpm / c.fan_max_rpm, 0.0)
        forced: Array = c.fan_w_per_k * share**c.fan_exponent
        return forced

    def _fans(self, dt: float) -> None:
        """A curve by die temperature with 6 K of hysteresis and 1.5 s of spin-up."""
        c, die = self.cards, self.nodes[0]
        self.fan_running = np.where(
            self.fan_running, die > c.fan_on_c - 6.0, die > c.fan_on_c
        ) | (c.fan_stops_at_all < 0.5)
        part = np.clip((die - c.fan_on_c) / (c.fan_full_c - c.fan_on_c), 0.0, 1.0)
        share = c.fan_least_share + (1.0 - c.fan_least_share) * part
        alive = (self.time_s < c.fan_lost_at_s) & (c.is_air > 0.5)
        wanted = np.where(self.fan_running & alive, share * c.fan_max_rpm, 0.0)
        self.rpm += (wanted - self.rpm) * (dt / 1.5)

    def advance(self, power_w: Array, seconds: float) -> None:
        """Let `seconds` pass at board power `power_w`."""
        steps = max(1, round(seconds / STEP_S))
        for _ in range(steps):
            self._step(power_w, seconds / steps)

    def _step(self, power_w: Array, dt: float) -> None:
        c = self.cards
        die, lid, base, body, board, water, loop = self.nodes
        self._fans(dt)
        above = np.maximum(body - c.room_c, 0.1)
        still = c.still_air_w_per_k * (above / 40.0) ** 0.25
        flowing = self.time_s < c.flow_lost_at_s
        flow = np.where(flowing, c.flow_w_per_k, c.stagnant_w_per_k)
        wet = np.where(flowing, c.block_water_w_per_k, c.block_water_w_per_k * 0.3)
        die_lid = (die - lid) / c.die_lid_k_per_w
        lid_base = (lid - base) / c.lid_base_k_per_w
        base_body = (base - body) / c.base_body_k_per_w
        board_base = (board - base) * c.board_base_w_per_k
        body_room = (body - c.room_c) * (still + self._forced() * c.is_air)
        body_water = (body - water) * wet
        water_loop = (water - loop) * flow
        self.nodes[0] = die + dt * (c.die_share * power_w - die_lid) / c.die_j_per_k
        self.nodes[1] = lid + dt * (die_lid - lid_base) / c.lid_j_per_k
        self.nodes[2] = base + dt * (lid_base + board_base - base_body) / c.base_j_per_k
        self.nodes[3] = body + dt * (base_body - body_room - body_water) / c.body_j_per_k
        self.nodes[4] = board + dt * (
            (1.0 - c.die_share) * power_w
            - board_base
            - (board - c.room_c) * c.board_room_w_per_k
        ) / c.board_j_per_k
        self.nodes[5] = water + dt * (body_water - water_loop) / c.block_water_j_per_k
        self.nodes[6] = loop + dt * (
            water_loop - (loop - c.room_c) * c.radiator_w_per_k
        ) / c.loop_water_j_per_k
        self.time_s += dt

    def die_c(self) -> Array:
        """True mean die temperature."""
        die: Array = self.nodes[0].copy()
        return die

    def hotspot_c(self, power_w: Array) -> Array:
        """True temperature of the hottest spot of the die."""
        spot: Array = self.nodes[0] + self.cards.hotspot_k_per_w * power_w * self.cards.die_share
        return spot
