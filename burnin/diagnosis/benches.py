"""How probable a record is by every pair of effects, on every kind of bench that it can come of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any, TypeVar

from burnin.diagnosis.bench_nuisance import (
    MASKED_COUNTS,
    NOISY_COUNTS,
    P_STUCK_UNSEEN,
    Bench,
    Counting,
    Widths,
    bench_of,
    counted,
    widths_worth_trying,
)
from burnin.diagnosis.evidence import Evidence, LinkLook
from burnin.diagnosis.likelihood import (
    ERRORS,
    LANE_ERRORS,
    Feature,
    likelihoods,
    presence,
    signature,
    stuck_chance,
)
from burnin.diagnosis.link_model import predicted_for
from burnin.diagnosis.prediction import Effects, Predicted

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.signedinteger[Any]]

_Square = TypeVar("_Square", "NDArray[np.float64]", "NDArray[np.signedinteger[Any]]")

P_REVERSED, P_MIRRORED = 0.22, 0.08
"""How probable a port numbers the lanes of a narrowed link from the far end, and a board is wired
the other way round, so that registers and port call lane 15 what the edge calls 0 (belief)."""
P_SETTLES = 0.4
"""How probable a link that gave up a speed keeps to the lower one until it is started again."""
UNSEEN = LinkLook("", False, 16, 4)
"""What is asked of a card that never came up: whether it did."""


@dataclass(frozen=True)
class BenchKind:
    """One kind of bench and its share: whether its port turns a narrowed link, the widths that it
    trains, whether its board is wired the other way round (`mirrored`), and whether a speed that
    was given up is not tried again in later looks (`settles`)."""

    reversed_: bool
    widths: Widths
    mirrored: bool
    settles: bool
    share: float


def bench_kinds(looks: Sequence[LinkLook], bench: Bench) -> list[BenchKind]:
    """The kinds of bench that what was seen can have come of; those that would have shown the same
    of it are one."""
    tried = widths_worth_trying(looks, bench)
    narrowed = any(look.width is not None and look.width < look.most_width for look in looks)
    bits = any((look.lanes[n] or frozenset()) - look.stuck[n] for look in looks for n in (0, 1))
    slower = any(
        look.generation is not None and look.generation < look.most_generation for look in looks[1:]
    )
    ways = [(False, False, 1.0)]
    if narrowed:
        ways.append((True, False, P_REVERSED))
    if narrowed or bits:
        ways.append((False, True, P_MIRRORED))
    ways[0] = (False, False, 1.0 - sum(share for *_, share in ways[1:]))
    again = ((False, 1.0 - P_SETTLES), (True, P_SETTLES)) if slower else ((False, 1.0),)
    return [
        BenchKind(turned, widths, mirrored, settles, share * bench.widths[widths] * part)
        for turned, mirrored, share in ways
        for widths in tried
        for settles, part in again
    ]


def predicted_in(table: Effects, kind: BenchKind, look: LinkLook, number: int) -> Predicted:
    """What every pair of effects lets the look of that number see, board wired as it should be."""
    settled = kind.settles and number > 0
    return predicted_for(table, look.warm, kind.reversed_, kind.widths, settled)


@lru_cache(maxsize=16)
def mirrored_places(table: Effects) -> tuple[int, ...]:
    """By effect, the place of what looks the same where the board turns the lanes round; an effect
    that has no like stays what it is."""
    most = table.most_width
    places = {effect: place for place, effect in enumerate(table.effects)}
    found = []
    for place, effect in enumerate(table.effects):
        turned = replace(effect, lanes=frozenset(most - 1 - lane for lane in effect.lanes))
        found.append(places.get(turned, place))
    return tuple(found)


def bench_shown(evidence: Evidence) -> Bench:
    """What is to be expected of this bench."""
    return bench_of(evidence.known_good)


def chance_of_looks(
    table: Effects, looks: Sequence[LinkLook], kind: BenchKind, bench: Bench
) -> Floats:
    """Probability of everything that the looks saw, by pair of effects."""
    import numpy as np

    size = len(table.effects)
    every: list[dict[Feature, Floats]] = []
    chance: Floats = np.ones((size, size))
    looks = [look for look in looks if not gone_within(look)]
    for number, look in enumerate(looks):
        parts = likelihoods(predicted_in(table, kind, look, number), look, number)
        for feature, part in parts.items():
            if feature not in ERRORS and feature not in LANE_ERRORS:
                chance *= part
        every.append(parts)
    for place in (0, 1):
        chance *= _counts(looks, every, place, bench.counting[place])
        chance *= _lanes(looks, every, place)
    return turned_round(table, kind, chance)


def turned_round(table: Effects, kind: BenchKind, square: _Square) -> _Square:
    """A square of pairs of effects, as it is where the board turns the lanes round."""
    import numpy as np

    if not kind.mirrored:
        return square
    places = np.array(mirrored_places(table))
    turned: _Square = square[np.ix_(places, places)]
    return turned


def gone_within(look: LinkLook) -> bool:
    """Whether the card left in this look: what errors and bits a dying link leaves tells nothing
    of what it was like."""
    return look.width is None and look.generation is None and look.top_generation is None


def _product(every: Sequence[dict[Feature, Floats]], feature: Feature) -> Floats | float:
    found: Floats | float = 1.0
    for parts in every:
        found = found * parts.get(feature, 1.0)
    return found


def _counts(
    looks: Sequence[LinkLook],
    every: Sequence[dict[Feature, Floats]],
    place: int,
    shares: dict[Counting, float],
) -> Floats | float:
    """Counts of one end, whichever way it counts; the same way in every look."""
    seen = [look.errors[place] for look in looks]
    noisy = masked = 1.0
    for count in seen:
        if count is not None:
            noisy *= NOISY_COUNTS[counted(count)]
            masked *= MASKED_COUNTS[counted(count)]
    honest = _product(every, ERRORS[place])
    return (
        shares[Counting.HONEST] * honest
        + shares[Counting.NOISY] * noisy
        + shares[Counting.MASKED] * masked
    )


def _lanes(
    looks: Sequence[LinkLook], every: Sequence[dict[Feature, Floats]], place: int
) -> Floats | float:
    """Lane error bits of one end, whether they mean something or not."""
    means_nothing = 1.0
    for look in looks:
        if look.lanes[place] is not None:
            means_nothing *= stuck_chance(look, place)
    told = _product(every, LANE_ERRORS[place])
    return (1.0 - P_STUCK_UNSEEN) * told + P_STUCK_UNSEEN * means_nothing


def codes_of(
    table: Effects, looks: Sequence[LinkLook], kind: BenchKind, absent: bool
) -> tuple[Ints, Predicted]:
    """A number by pair of effects, the same where the same is predicted for all that was seen."""
    import numpy as np

    first = predicted_in(table, kind, looks[0], 0)
    code: Ints = np.zeros(first.present.shape, dtype=np.int64)
    plain = replace(kind, settles=False)
    for number, look in enumerate(looks):
        predicted = predicted_in(table, plain, look, number)
        code = code * 1_000_003 + signature(predicted, UNSEEN if absent else look)
    lost = table.lost[:, None] | table.lost[None, :]
    code = np.where(first.present & lost, -2 - code, code)
    flaky = table.flaky[:, None] | table.flaky[None, :]
    code = np.where(flaky, code ^ (1 << 60), code)
    return turned_round(table, kind, code), first


def presence_of(table: Effects, first: Predicted, kind: BenchKind, evidence: Evidence) -> Floats:
    """Probability that the card came up and stayed as it did."""
    there = presence(table, first, evidence.absent, evidence.lost, evidence.starts)
    return turned_round(table, kind, there)
