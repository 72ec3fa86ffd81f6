"""Whether addresses are one remainder of a number of channels that is no power of two.

For every stripe and odd modulus: how many addresses share the most frequent remainder. Only the
true stripe gathers them all, since half or twice of it mixes two remainders or more. What a factor
of two adds is looked at last.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from burnin.diagnosis.memory_fault.answer import Remainder

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

STRIPES = tuple(1 << n for n in range(7, 17))
"""128 B to 64 KiB."""
ODD = (3, 5, 7, 9, 11, 13, 15)
_DOUBLINGS = 4
_MOST_STRAYS = 0.2
_LOOKED_AT = 16384
_SEED = 3


@dataclass(frozen=True)
class FoundRemainder:
    """A remainder rule and what it is worth: log2 odds less the cost of having looked."""

    rule: Remainder
    worth_bits: float


def remainder_of(points: NDArray[np.uint64]) -> FoundRemainder | None:
    """The remainder rule of different byte addresses, shape (n,), None where there is none."""
    looked = _some(points)
    if len(looked) < 6:
        return None
    best: FoundRemainder | None = None
    for stripe in STRIPES:
        for modulus in ODD:
            found = _found(looked, stripe, modulus)
            if found and (best is None or found.worth_bits > best.worth_bits):
                best = found
    if best is None:
        return None
    for _ in range(_DOUBLINGS):
        more = _found(looked, best.rule.stripe_bytes, best.rule.modulus * 2)
        if more is None or more.worth_bits <= best.worth_bits:
            break
        best = more
    return best


def remainder_within_pages(points: NDArray[np.uint64], page_bytes: int) -> FoundRemainder | None:
    """A remainder that is the same for addresses of one page, another for another page."""
    import numpy as np

    looked = np.sort(_some(points))
    page, first = np.unique(looked // np.uint64(page_bytes), return_index=True)
    if len(looked) - len(page) < 12:
        return None
    starts = np.zeros(len(looked), np.intp)
    starts[first] = 1
    number = np.cumsum(starts) - 1
    best: FoundRemainder | None = None
    for stripe in STRIPES:
        for modulus in ODD:
            found = _found_in_pages(looked, number, len(page), page_bytes, stripe, modulus)
            if found and (best is None or found.worth_bits > best.worth_bits):
                best = found
    if best is None:
        return None
    rule = best.rule
    for _ in range(_DOUBLINGS):
        more = _found_in_pages(
            looked, number, len(page), page_bytes, rule.stripe_bytes, rule.modulus * 2
        )
        if more is None or more.worth_bits <= best.worth_bits:
            break
        best, rule = more, more.rule
    return best


def within_channel(points: NDArray[np.uint64], rule: Remainder) -> NDArray[np.uint64]:
    """Addresses within the channel: stripes of the others are taken out."""
    import numpy as np

    stripe = np.uint64(rule.stripe_bytes)
    return np.asarray(
        points // (stripe * np.uint64(rule.modulus)) * stripe + points % stripe, np.uint64
    )


def obeys(points: NDArray[np.uint64], rule: Remainder) -> NDArray[np.bool_]:
    """Which addresses have the remainder, shape (n,); all where it differs from page to page."""
    import numpy as np

    if rule.remainder is None:
        return np.ones(len(points), np.bool_)
    left = points // np.uint64(rule.stripe_bytes) % np.uint64(rule.modulus)
    return np.asarray(left == np.uint64(rule.remainder), np.bool_)


def _some(points: NDArray[np.uint64]) -> NDArray[np.uint64]:
    import numpy as np

    if len(points) <= _LOOKED_AT:
        return points
    return np.random.default_rng(_SEED).choice(points, _LOOKED_AT, replace=False)


def _found(points: NDArray[np.uint64], stripe: int, modulus: int) -> FoundRemainder | None:
    import numpy as np

    stripes = points // np.uint64(stripe)
    counts = np.bincount((stripes % np.uint64(modulus)).astype(np.intp), minlength=modulus)
    share = float(counts.max()) / len(points)
    if share < 1.0 - _MOST_STRAYS:
        return None
    # Words of one stripe say one thing, not many.
    worth = _worth_bits(share, modulus, len(np.unique(stripes)) - 1)
    if worth < 3.0:
        return None
    return FoundRemainder(Remainder(stripe, modulus, int(counts.argmax()), share), worth)


def _found_in_pages(
    points: NDArray[np.uint64],
    number: NDArray[np.intp],
    pages: int,
    page_bytes: int,
    stripe: int,
    modulus: int,
) -> FoundRemainder | None:
    import numpy as np

    stripes = points % np.uint64(page_bytes) // np.uint64(stripe)
    left = (stripes % np.uint64(modulus)).astype(np.intp)
    counts = np.bincount(number * modulus + left, minlength=pages * modulus)
    most = counts.reshape(pages, modulus).max(axis=1)
    several = np.bincount(number, minlength=pages) > 1
    total = int(np.bincount(number, minlength=pages)[several].sum())
    share = float(most[several].sum()) / max(1, total)
    if share < 1.0 - _MOST_STRAYS:
        return None
    different = len(np.unique(number * (page_bytes // stripe) + stripes.astype(np.intp)))
    worth = _worth_bits(share, modulus, different - pages)
    if worth < 3.0:
        return None
    return FoundRemainder(Remainder(stripe, modulus, None, share), worth)


def _worth_bits(share: float, modulus: int, independent: int) -> float:
    """Log2 odds against uniform remainders, less the cost of stripe, modulus and remainder."""
    stray = max(0.01, 1.0 - share)
    gain = share * math.log2((1.0 - stray) * modulus)
    gain += (1.0 - share) * math.log2(stray * modulus / (modulus - 1))
    return independent * gain - math.log2(len(STRIPES) * len(ODD) * modulus) - 2.0
