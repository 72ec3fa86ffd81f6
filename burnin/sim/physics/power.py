"""What the card draws: idle, dynamic share x f x V^2, leakage that grows with heat, and its cap.

Dynamic power of a CMOS circuit is proportional to activity, clock and the square of the voltage;
leakage grows exponentially with temperature (textbook relations; the constants are estimates).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum, auto

from burnin.sim.scenario.build import Build
from burnin.sim.scenario.parts import CardBuild

_LOW_V, _HIGH_V = 0.70, 1.05
_LEAK_E_FOLD_K = 45.0
_HEADROOM = 1.03
"""A full arithmetic load at full clock would draw this share of the board's limit."""
ARITHMETIC_MEMORY_SHARE = 0.2
"""Share of the memory's work that goes with a full arithmetic load."""
_MEMORY_SHARE = 0.15
_BOARD_SHARE = 0.08
"""Share of all power that turns to heat in regulators and copper of the board."""


@dataclass(frozen=True)
class Activity:
    """What the card is asked to do: shares (0 to 1) of core, memory and link, the latter by way.

    `link_to_card` and `link_to_host` are shares of the link's payload ceiling.
    """

    core: float = 0.0
    memory: float = 0.0
    link_to_card: float = 0.0
    link_to_host: float = 0.0

    @property
    def idle(self) -> bool:
        """Whether nothing is asked."""
        return not (self.core or self.memory or self.link_to_card or self.link_to_host)


IDLE = Activity()


@dataclass(frozen=True)
class Heat:
    """Where the power goes, W."""

    die_w: float
    memory_w: float
    board_w: float

    @property
    def total_w(self) -> float:
        """Power of the whole board."""
        return self.die_w + self.memory_w + self.board_w


class HeldDown(Enum):
    """Why a card's clock is below its fastest while it works."""

    HEAT = auto()
    POWER_LIMIT = auto()


class Power:
    """Clocks and power of the card; `held_down` says why the clock is held down, if it is.

    `cap_w` is what the card may draw, W, where its plugs allow less than it was built for.
    """

    def __init__(self, card: CardBuild, build: Build, cap_w: float | None = None) -> None:
        self._card = card
        self._build = build
        self.cap_w = build.max_power_w if cap_w is None else cap_w
        self.clock_mhz = card.idle_clock_mhz
        self._ceiling_mhz = card.max_clock_mhz
        self._quiet_s = 10.0
        self.held_down: HeldDown | None = None
        leak = self._leakage_w(30.0, _LOW_V)
        self._base_w = max(0.0, build.idle_power_w * (1.0 - _BOARD_SHARE) - leak)
        full = build.max_power_w * _HEADROOM * (1.0 - _BOARD_SHARE)
        memory_w = ARITHMETIC_MEMORY_SHARE * _MEMORY_SHARE * build.max_power_w
        spent = self._base_w + memory_w + self._leakage_w(70.0, _HIGH_V)
        self._core_w = max(0.1 * full, full - spent)

    def _leakage_w(self, die_c: float, volt: float) -> float:
        heat = math.exp(min(5.0, (die_c - 25.0) / _LEAK_E_FOLD_K))
        return self._build.leakage_w * heat * (volt / _HIGH_V) ** 2

    def voltage(self) -> float:
        """Core voltage at the present clock, V."""
        card = self._card
        share = (self.clock_mhz - card.idle_clock_mhz) / (card.max_clock_mhz - card.idle_clock_mhz)
        return _LOW_V + (_HIGH_V - _LOW_V) * min(1.0, max(0.0, share))

    def heat(self, activity: Activity, die_c: float) -> Heat:
        """Power by place at the present clock."""
        volt = self.voltage()
        speed = self.clock_mhz / self._card.max_clock_mhz * (volt / _HIGH_V) ** 2
        link = 0.02 * self._build.max_power_w * (activity.link_to_card + activity.link_to_host)
        die = (
            self._base_w * 0.6
            + self._core_w * activity.core * speed
            + self._leakage_w(die_c, volt)
            + link
        )
        memory = self._base_w * 0.4 + _MEMORY_SHARE * self._build.max_power_w * activity.memory
        board = (die + memory) * _BOARD_SHARE / (1.0 - _BOARD_SHARE)
        return Heat(die, memory, board)

    def advance(self, seconds: float, activity: Activity, die_c: float, power_w: float) -> None:
        """Let the clock follow the work, the board's power limit and the slowdown temperature."""
        card = self._card
        self._quiet_s = self._quiet_s + seconds if activity.idle else 0.0
        over = power_w / self.cap_w - 1.0
        if self._quiet_s > 0.5:
            self.clock_mhz, self._ceiling_mhz = card.idle_clock_mhz, card.max_clock_mhz
            self.held_down = None
            return
        too_hot = die_c >= card.slowdown_c
        if too_hot:
            change = -0.4 * (1.0 + die_c - card.slowdown_c)
        else:
            change = max(-3.0, -4.0 * over) if over > 0.0 else min(0.5, -0.8 * over)
        scale = math.exp(max(-0.3, min(0.1, change * seconds)))
        low = max(card.idle_clock_mhz, 0.2 * card.max_clock_mhz)
        self._ceiling_mhz = min(card.max_clock_mhz, max(low, self._ceiling_mhz * scale))
        self.clock_mhz = self._ceiling_mhz
        held = self._ceiling_mhz < 0.995 * card.max_clock_mhz
        self.held_down = (
            HeldDown.HEAT if too_hot else HeldDown.POWER_LIMIT if held else None
        )
