"""What of a link may be expected here: the lesser of card, slot, set-up and profile.

Each bound is read where it is kept: card and port in Link Capabilities, the set-up's hold in the
port's Link Control 2 (Target Link Speed, which bounds a port that faces a card; PCI Express Base
5.0, 7.5.3.6 and 7.5.3.19). A slot with fewer lanes wired than its port tells is known only from
what known-good cards have shown there.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from burnin.card.capabilities import Link
from burnin.card.rates import GENERATIONS
from burnin.card.topology import CardPosition
from burnin.core.meaning import Reason, distinct
from burnin.core.proven_bench import BenchShown, ProvenBench
from burnin.core.reading import NotMeasured, known
from burnin.stages.link.meanings import LinkReason
from burnin.stages.link.settings import LinkCheck


@dataclass(frozen=True)
class LinkExpected:
    """Lanes and GT/s to expect; `lanes_short`, `speed_short`: whose bound is below the profile's.

    `unknown`: why nobody can say the most that the link may do here.
    """

    lanes: float
    speed_gts: float
    lanes_short: Reason | None
    speed_short: Reason | None
    unknown: Reason | None


@dataclass(frozen=True)
class Surroundings:
    """What a stage knows of the slot: its hold, its place, what it has shown."""

    held_gts: float | NotMeasured
    position: CardPosition | NotMeasured
    shown: BenchShown | None


def expected_link(link: Link, settings: LinkCheck, around: Surroundings) -> LinkExpected:
    """The lesser of all bounds; of two alike the card's own is named first, then the slot's."""
    own_lanes, own_gts = known(link.card.max_width_lanes), known(link.card.max_speed_gts)
    asked, generation = settings.width_lanes, settings.generation
    want_lanes = float(own_lanes or 1) if asked == "own" else float(asked)
    if generation == "own":
        want_gts = own_gts or GENERATIONS[1].speed_gts
    else:
        want_gts = GENERATIONS[generation].speed_gts
    untold = (asked == "own" and not own_lanes) or (generation == "own" and not own_gts)
    lanes = min(_lane_bounds(link, want_lanes, around), key=_value, default=None)
    speed = min(_speed_bounds(link, want_gts, around), key=_value, default=None)
    return LinkExpected(
        lanes=want_lanes if lanes is None else min(want_lanes, lanes[0]),
        speed_gts=want_gts if speed is None else min(want_gts, speed[0]),
        lanes_short=lanes[1] if lanes is not None and lanes[0] < want_lanes else None,
        speed_short=speed[1] if speed is not None and speed[0] < want_gts else None,
        unknown=_unknown(link) if untold or lanes is None or speed is None else None,
    )


def _value(bound: tuple[float, Reason]) -> float:
    return bound[0]


def _lane_bounds(
    link: Link, want: float, around: Surroundings
) -> Iterator[tuple[float, Reason]]:
    card, port = known(link.card.max_width_lanes), known(link.port)
    if card is not None:
        yield card, LinkReason.LANES_OF_CARD(expected_lanes=want, offered_lanes=card)
    slot = None if port is None else known(port.max_width_lanes)
    if slot is not None:
        position = known(around.position)
        yield slot, (
            LinkReason.LANES_SHARED(
                expected_lanes=want, offered_lanes=slot, beside=position.beside
            )
            if position is not None and position.beside
            else LinkReason.LANES_OF_SLOT(expected_lanes=want, offered_lanes=slot)
        )
    shown = around.shown
    if isinstance(shown, ProvenBench) and shown.width_limit_lanes is not None:
        yield (
            shown.width_limit_lanes,
            LinkReason.LANES_SLOT_GAVE(
                expected_lanes=want, offered_lanes=shown.width_limit_lanes, told_lanes=slot
            ),
        )


def _speed_bounds(
    link: Link, want: float, around: Surroundings
) -> Iterator[tuple[float, Reason]]:
    card, port = known(link.card.max_speed_gts), known(link.port)
    if card is not None:
        yield card, LinkReason.SPEED_OF_CARD(expected_gts=want, offered_gts=card)
    slot = None if port is None else known(port.max_speed_gts)
    if slot is not None:
        yield slot, LinkReason.SPEED_OF_SLOT(expected_gts=want, offered_gts=slot)
    held = known(around.held_gts)
    if held is not None:
        yield held, LinkReason.SPEED_HELD(expected_gts=want, held_gts=held, told_gts=slot)
    shown = around.shown
    if isinstance(shown, ProvenBench) and shown.speed_limit_gts is not None:
        yield (
            shown.speed_limit_gts,
            LinkReason.SPEED_SLOT_GAVE(
                expected_gts=want, offered_gts=shown.speed_limit_gts, told_gts=slot
            ),
        )


def _unknown(link: Link) -> Reason:
    end = link.card
    untold = [
        value.reason
        for value in (end.max_width_lanes, end.max_speed_gts)
        if isinstance(value, NotMeasured)
    ]
    return LinkReason.MOST_UNKNOWN(reasons=distinct(untold))
