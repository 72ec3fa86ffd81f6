"""The rule on addresses that separates failing from sound words: parities, remainder, pages."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from burnin.diagnosis.memory_fault import gf2
from burnin.diagnosis.memory_fault.answer import AddressRule, Parity
from burnin.diagnosis.memory_fault.ground import Ground
from burnin.diagnosis.memory_fault.page_search import (
    USUAL_PAGE_BYTES,
    constants_within_pages,
    more_within_pages,
)
from burnin.diagnosis.memory_fault.parity_search import Constant, constants_of
from burnin.diagnosis.memory_fault.remainder_search import (
    FoundRemainder,
    obeys,
    remainders_of,
    remainders_within_pages,
    within_channel,
)

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


@dataclass(frozen=True)
class Asked:
    """What a rule is searched over: different byte addresses, their ground, what pages there are.

    `page_bytes` None: nobody knows whether pages lie in their order. `most_parities`: more than so
    many halvings cannot be, because more words failed than they leave. `evenly`: words were listed
    at even steps, so that parities of high bits are the list's and not the fault's.
    """

    points: NDArray[np.uint64]
    ground: Ground
    page_bytes: int | None
    most_parities: float = math.inf
    evenly: bool = False


def rule_of(asked: Asked) -> AddressRule:
    """The rule of lowest rank that nearly all of the addresses obey; empty where there is none."""
    remainders = remainders_of(asked.points)
    over_all = constants_of(asked.points, asked.ground)
    page_bytes = asked.page_bytes or USUAL_PAGE_BYTES
    if remainders:
        # Several stripes may fit where low bits are fixed: that one which tells most.
        ways = [_inside_channel(asked, remainder) for remainder in remainders]
        return max(ways, key=lambda way: (way.one_of, way.significance_bits))
    if asked.ground.end_bytes - asked.ground.first_bytes <= 2 * page_bytes:
        return _ruled(asked, over_all)
    in_pages = remainders_within_pages(asked.points, page_bytes)
    if in_pages and not _known_by(over_all, in_pages[0]):
        most = max(in_pages, key=lambda found: (found.rule.modulus, found.worth_bits))
        return _in_pages(over_all, (), most, page_bytes)
    within = constants_within_pages(asked.points, page_bytes)
    if within and more_within_pages(within, over_all, page_bytes):
        return _in_pages(over_all, within, None, page_bytes)
    return _ruled(asked, over_all)


def obeying(points: NDArray[np.uint64], rule: AddressRule) -> NDArray[np.bool_]:
    """Which byte addresses obey a rule, shape (n,), as far as it speaks of each by itself."""
    import numpy as np

    good = np.ones(len(points), np.bool_)
    if rule.window_bytes:
        first, last = rule.window_bytes
        return np.asarray((points >= np.uint64(first)) & (points <= np.uint64(last)), np.bool_)
    inside = points
    if rule.remainder:
        good &= obeys(points, rule.remainder)
        if rule.remainder.remainder is not None:
            inside = within_channel(points, rule.remainder)
    for parity in rule.parities:
        good &= _odd(inside, parity.mask) == parity.wanted
    return good


def _inside_channel(asked: Asked, remainder: FoundRemainder) -> AddressRule:
    """A remainder with the parities that hold over the addresses within its channel."""
    rule = remainder.rule
    inside = np_unique(within_channel(asked.points[obeys(asked.points, rule)], rule))
    share = rule.stripe_bytes * rule.modulus
    ground = Ground(
        asked.ground.first_bytes // share * rule.stripe_bytes,
        -(-asked.ground.end_bytes // share) * rule.stripe_bytes,
    )
    left = asked.most_parities - math.log2(rule.modulus)
    # Strays that keep the remainder are few: what more words break is no rule.
    most_broken = 0.5 * (1.0 - rule.share) + 0.03
    known = () if asked.evenly else constants_of(inside, ground)
    constants = [constant for constant in known if constant.broken <= most_broken]
    found = _ruled(Asked(inside, ground, None, left), constants)
    significance = remainder.worth_bits + found.significance_bits
    return AddressRule(found.parities, rule, significance_bits=significance)


def _ruled(asked: Asked, found: Sequence[Constant]) -> AddressRule:
    kept = list(found)
    if len(kept) > asked.most_parities:
        # The list was taken at even steps: what it leaves out looks like a rule of higher bits.
        most = max(0, math.floor(asked.most_parities))
        kept = sorted(kept, key=lambda c: c.mask & -c.mask)[:most]
    return AddressRule(
        tuple(Parity(c.mask, c.wanted, 1.0 - c.broken) for c in kept),
        significance_bits=sum(c.worth_bits for c in kept),
    )


def _in_pages(
    over_all: Sequence[Constant],
    within: Sequence[Constant],
    remainder: FoundRemainder | None,
    page_bytes: int,
) -> AddressRule:
    """Of pages in any order only masks below the page size can be told, of all words or of each."""
    said = _said_by(remainder)
    below = [c for c in over_all if c.mask < page_bytes and not gf2.spans(said, c.mask)]
    both = gf2.reduced([*(c.mask for c in below), *(c.mask for c in within)])
    worth = sum(c.worth_bits for c in (*below, *within))
    return AddressRule(
        tuple(Parity(c.mask, c.wanted, 1.0 - c.broken) for c in below),
        remainder.rule if remainder else None,
        within_pages=gf2.lightest(list(both.values())),
        page_bytes=page_bytes,
        significance_bits=worth + (remainder.worth_bits if remainder else 0.0),
    )


def _said_by(remainder: FoundRemainder | None) -> tuple[int, ...]:
    """Address bits that the factors of two of a modulus fix already."""
    if remainder is None:
        return ()
    rule = remainder.rule
    twos = (rule.modulus & -rule.modulus).bit_length() - 1
    return tuple(rule.stripe_bytes << n for n in range(twos))


def _known_by(over_all: Sequence[Constant], found: FoundRemainder) -> bool:
    """Whether a remainder within pages says nothing that parities over all words do not say.

    Fixed low bits leave few places in a page, and few places share a remainder easily.
    """
    return 2.0 ** len(over_all) >= 64.0 * found.rule.modulus


def np_unique(points: NDArray[np.uint64]) -> NDArray[np.uint64]:
    """Different addresses in ascending order."""
    import numpy as np

    return np.unique(points)


def _odd(points: NDArray[np.uint64], mask: int) -> NDArray[np.uint8]:
    import numpy as np

    return np.asarray(np.bitwise_count(points & np.uint64(mask)) & np.uint8(1), np.uint8)
