"""What speaks of a link and of outputs: one look for every link stage, nothing guessed.

A value that was not seen is None, and takes no part in any probability.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from burnin.card.rates import RATE_GTS
from burnin.core.meaning import Note, Reason
from burnin.diagnosis.outputs.looks import OutputLook
from burnin.diagnosis.point_state import PointSaid


@dataclass(frozen=True)
class LinkLook:
    """One link stage. Generations count from 1; `most_…`: what card and slot offer together.

    `generation` is the slowest under traffic, `top_generation` the fastest; `errors`: increase of
    error counters at either end; `lanes`: lanes whose error bit is set at either end; `stuck`:
    lanes whose bit was set before the look began, so that it tells next to nothing; `of_bench`:
    those of them that a known-good card showed there too, which tell nothing; `managed`:
    whether the port says that it lowered width or speed to keep the link reliable; `offers`: where
    card and slot do not offer the same.
    """

    stage: str
    warm: bool
    most_width: int
    most_generation: int
    width: int | None = None
    generation: int | None = None
    top_generation: int | None = None
    errors: tuple[int | None, int | None] = (None, None)
    lanes: tuple[frozenset[int] | None, frozenset[int] | None] = (None, None)
    stuck: tuple[frozenset[int], frozenset[int]] = (frozenset(), frozenset())
    of_bench: tuple[frozenset[int], frozenset[int]] = (frozenset(), frozenset())
    managed: bool | None = None
    target_generation: int | None = None
    offers: tuple[Note, ...] = ()


@dataclass(frozen=True)
class Measured:
    """What a meter said at a contact of the edge: alike its neighbours, open, or out of line."""

    contact: str
    state: Literal["alike", "open", "off"]


@dataclass(frozen=True)
class Evidence:
    """All that speaks of the link. `absent`: no card came up; `lost`: it left while it worked.

    `known_good`: what the same slot showed with a card known to be good; `measured`: what a meter
    said at contacts of the edge, `points` at rails and contacts of the plug, `plug` which one the
    card has (see `start_faults`); `starts`: of each cold start, whether the card came up;
    `outputs`: what the display stage saw; `elsewhere`: what failed in stages of which no
    explanation is made here; `deciding`: which of them, and who may be at fault beside the card.
    """

    looks: tuple[LinkLook, ...]
    known_good: tuple[LinkLook, ...] = ()
    measured: tuple[Measured, ...] = ()
    starts: tuple[bool, ...] = ()
    absent: bool = False
    lost: bool = False
    simulated: bool = False
    outputs: tuple[OutputLook, ...] = ()
    elsewhere: tuple[Reason, ...] = ()
    deciding: tuple[tuple[str, Reason], ...] = ()
    points: tuple[PointSaid, ...] = ()
    plug: str | None = None


def in_order(
    looks: Sequence[LinkLook], known_good: Sequence[LinkLook] = ()
) -> tuple[LinkLook, ...]:
    """Looks of one run as they bear on each other: a bit that came up between two looks is new
    in the later one; one that the bench shows with a known-good card is the bench's."""
    found: list[LinkLook] = []
    for look in looks:
        stuck, of_bench = [], []
        for place in (0, 1):
            shown = [g.stuck[place] | (g.lanes[place] or frozenset()) for g in known_good]
            earlier = found[-1].lanes[place] if found else None
            mine = look.stuck[place]
            stuck.append(mine if earlier is None else mine & earlier)
            of_bench.append(mine & frozenset().union(*shown))
        found.append(replace(look, stuck=(stuck[0], stuck[1]), of_bench=(of_bench[0], of_bench[1])))
    return tuple(found)


def generation_of(speed_gts: float | None) -> int | None:
    """Generation of a line rate in GT/s (PCI Express Base Specification, 1.2), None if unknown."""
    for number, rate in RATE_GTS.items():
        if speed_gts is not None and abs(speed_gts - rate) < 0.05:
            return number
    return None
