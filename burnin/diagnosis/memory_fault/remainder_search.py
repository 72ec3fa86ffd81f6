"""Whether addresses are one remainder of a number of channels that is no power of two.

For every stripe and odd modulus: how many addresses share the most frequent remainder. Only the
true stripe gathers them all, since half or twice of it mixes two remainders or more. What a factor
of two adds is looked at last.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from burnin.diagnosis.memory_fault.answer import Remainder
from burnin.diagnosis.memory_fault.page_search import pairs_within_pages

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

STRIPES = tuple(1 << n for n in range(7, 17))
"""128 B to 64 KiB."""
ODD = (3, 5, 7, 9, 11, 13, 15)
MOST_CHANNELS = 16
_NEEDED_BITS = 8.0
_MOST_STRAYS = 0.2
_LOOKED_AT = 16384
_SEED = 3


@dataclass(frozen=True)
class FoundRemainder:
    """A remainder rule and what it is worth: log2 odds less the cost of having looked."""

    rule: Remainder
    worth_bits: float


def remainders_of(points: NDArray[np.uint64]) -> tuple[FoundRemainder, ...]:
    """Remainder rules of different byte addresses, shape (n,), that do about as well."""
    looked = _some(points)
    if len(looked) < 6:
        return ()
    return _best(lambda stripe, modulus: _found(looked, stripe, modulus))


def remainders_within_pages(
    points: NDArray[np.uint64], page_bytes: int
) -> tuple[FoundRemainder, ...]:
    """A remainder that is the same for addresses of one page, another for another page."""
    import numpy as np

    one, other = pairs_within_pages(points, page_bytes)
    page = np.uint64(page_bytes)
    pairs = (one[:_LOOKED_AT] % page, other[:_LOOKED_AT] % page)
    return _best(lambda stripe, modulus: _found_in_pages(pairs, stripe, modulus))


def _best(look: Callable[[int, int], FoundRemainder | None]) -> tuple[FoundRemainder, ...]:
    """The best stripes with an odd modulus, and what factors of two add to it.

    Fixed low bits let narrower stripes through, fixed higher ones wider ones. A channel's number is
    told by stripes as narrow as the number of channels allows, so a wide one is narrowed first.
    """
    found = [look(stripe, modulus) for stripe in STRIPES for modulus in ODD]
    there = [one for one in found if one]
    most = max((one.worth_bits for one in there), default=0.0)
    near = [_doubled(look, one) for one in there if one.worth_bits >= 0.9 * most]
    return tuple({one.rule: one for one in near}.values())


def _doubled(
    look: Callable[[int, int], FoundRemainder | None], best: FoundRemainder
) -> FoundRemainder:
    for widen in (-1, 0):
        while best.rule.modulus * 2 <= MOST_CHANNELS:
            stripe = best.rule.stripe_bytes >> 1 if widen else best.rule.stripe_bytes
            more = look(stripe, best.rule.modulus * 2) if stripe >= STRIPES[0] else None
            if more is None or more.worth_bits <= best.worth_bits:
                break
            best = more
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
    if worth < _NEEDED_BITS:
        return None
    return FoundRemainder(Remainder(stripe, modulus, int(counts.argmax()), share), worth)


def _found_in_pages(
    pairs: tuple[NDArray[np.uint64], NDArray[np.uint64]], stripe: int, modulus: int
) -> FoundRemainder | None:
    import numpy as np

    one, other = (part // np.uint64(stripe) for part in pairs)
    apart = one != other  # words of one stripe share its remainder whatever the rule is
    count = int(apart.sum())
    if count < 6:
        return None
    share = float(np.mean((one % np.uint64(modulus) == other % np.uint64(modulus))[apart]))
    if share < 1.0 - 2.0 * _MOST_STRAYS:  # a stray breaks two pairs
        return None
    worth = _worth_bits(share, modulus, count)
    if worth < _NEEDED_BITS:
        return None
    return FoundRemainder(Remainder(stripe, modulus, None, share), worth)


def _worth_bits(share: float, modulus: int, independent: int) -> float:
    """Log2 odds against uniform remainders, less the cost of stripe, modulus and remainder."""
    stray = max(0.01, 1.0 - share)
    gain = share * math.log2((1.0 - stray) * modulus)
    gain += (1.0 - share) * math.log2(stray * modulus / (modulus - 1))
    return independent * gain - math.log2(len(STRIPES) * len(ODD) * modulus) - 2.0
