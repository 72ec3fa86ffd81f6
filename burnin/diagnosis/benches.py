"""How probable a record is by every pair of effects, on every kind of bench that it can come of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

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

P_REVERSED = 0.10
"""How probable a port numbers the lanes of a narrowed link from the far end (belief)."""
UNSEEN = LinkLook("", False, 16, 4)
"""What is asked of a card that never came up: whether it did."""


@dataclass(frozen=True)
class BenchKind:
    """One kind of bench and its share: whether it turns lanes, and the widths it trains."""

    reversed_: bool
    widths: Widths
    share: float


def bench_kinds(looks: Sequence[LinkLook], bench: Bench) -> list[BenchKind]:
    """The kinds of bench that what was seen can have come of."""
    tried = widths_worth_trying(looks, bench)
    return [
        BenchKind(turned, widths, share * bench.widths[widths])
        for turned, share in ((False, 1.0 - P_REVERSED), (True, P_REVERSED))
        for widths in tried
    ]


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
    for look in looks:
        parts = likelihoods(predicted_for(table, look.warm, kind.reversed_, kind.widths), look)
        for feature, part in parts.items():
            if feature not in ERRORS and feature not in LANE_ERRORS:
                chance *= part
        every.append(parts)
    for place in (0, 1):
        chance *= _counts(looks, every, place, bench.counting[place])
        chance *= _lanes(looks, every, place)
    return chance


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

    first = predicted_for(table, looks[0].warm, kind.reversed_, kind.widths)
    code: Ints = np.zeros(first.present.shape, dtype=np.int64)
    for look in looks:
        predicted = predicted_for(table, look.warm, kind.reversed_, kind.widths)
        code = code * 1_000_003 + signature(predicted, UNSEEN if absent else look)
    lost = table.lost[:, None] | table.lost[None, :]
    return np.where(first.present & lost, -2 - code, code), first


def presence_of(table: Effects, first: Predicted, evidence: Evidence) -> Floats:
    """Probability that the card came up and stayed as it did."""
    return presence(table, first, evidence.absent, evidence.lost)
