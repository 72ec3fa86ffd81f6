"""What a run observed that tells one party from another, live or on record."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from burnin.core.proven_bench import BenchShown


@dataclass(frozen=True)
class LinkSeen:
    """What both ends of the link told in a run.

    `errors`: damaged packets and link messages by the end that saw them; `lanes`: lanes with new
    error bits by end; both without a key where they were not read. `beyond_chance`: ends at
    which more errors arrived, of whatever kind, than a sound link makes by chance. `most_lanes`,
    `most_gts`: the most that was seen.
    `beside`: a device sits at a port that may divide its lanes with this one.
    `retrained`: the port tells that it trained anew to keep the link reliable.
    `lowered_by_system`: the port calls a lower speed a wish of system or card, and no end saw
    errors. `target_gts`: what the port's set-up asks for. `fell_warm`: it fell only when warm.
    """

    errors: Mapping[str, int] = field(default_factory=dict)
    lanes: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    most_lanes: float | None = None
    most_gts: float | None = None
    lowered_by_system: bool = False
    target_gts: float | None = None
    fell_warm: bool = False
    beyond_chance: frozenset[str] = frozenset()
    beside: bool = False
    retrained: bool = False


@dataclass(frozen=True)
class PadSeen:
    """A repaired contact of the card as the meter told it before power.

    `carries` is ``link`` or ``supply``; `lane` is None where it carries none. `good`: joined with
    its trace, and with nothing else.
    """

    contact: str
    carries: str
    lane: int | None
    good: bool


@dataclass(frozen=True)
class HeatSeen:
    """What the temperatures of a run told, each by the name of its signal.

    `rest_c` and `most_c`: at rest before the first load, and the highest. `scattered`: how often a
    value leapt and came back; `leapt`: those that leapt and stayed while power and load stood.
    `own_fans`: whether the card told of fans of its own. `keeps_rising`: under an even load the die
    rose in its last third nearly as fast as before; None where no load was even for long enough.
    `turned`: it was coming to rest, and began to rise anew while the load stood.
    `difference_passed`: the hot spot's lead over the die was large after a step of power and went
    away while the power stood. `ran_down`: fans, from 1, that ran down as a rotor does although
    they were asked to turn.
    """

    rest_c: Mapping[str, float] = field(default_factory=dict)
    most_c: Mapping[str, float] = field(default_factory=dict)
    scattered: Mapping[str, int] = field(default_factory=dict)
    leapt: frozenset[str] = frozenset()
    own_fans: bool = False
    keeps_rising: bool | None = None
    turned: bool = False
    difference_passed: bool = False
    ran_down: frozenset[int] = frozenset()


@dataclass(frozen=True)
class PowerSeen:
    """What the power sensor told beside the others.

    `drew_w`: the most. `stands`: it did not move from rest to load while the die warmed.
    `impossible`: it told a power that no card can have. `of_counter`: power told over power by the
    energy counter, under load. `limit_in_force_w`: what the card itself says that it is held at,
    where that is below its own limit. `braked`: slowed by a signal from outside. `rest_w`: the
    least before the first load. `without_heat`: at rest it told more than a die so cool can draw.
    `last_share`: the last power told over the most that this card drew, under load to the end.
    """

    drew_w: float | None = None
    stands: bool = False
    impossible: bool = False
    of_counter: float | None = None
    limit_in_force_w: float | None = None
    braked: bool = False
    rest_w: float | None = None
    without_heat: bool = False
    last_share: float | None = None


@dataclass(frozen=True)
class Seen:
    """All of it; `on_the_bus`: whether the card answered last; `pads`: of its repaired contacts."""

    bench: BenchShown | None = None
    link: LinkSeen = LinkSeen()
    heat: HeatSeen = HeatSeen()
    power: PowerSeen = PowerSeen()
    on_the_bus: bool | None = None
    pads: tuple[PadSeen, ...] = ()
