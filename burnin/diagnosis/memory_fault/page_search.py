"""What addresses of one page have in common, where a driver may have laid pages in any order."""

from __future__ import annotations

from typing import TYPE_CHECKING

from burnin.diagnosis.memory_fault import gf2
from burnin.diagnosis.memory_fault.ground import Ground
from burnin.diagnosis.memory_fault.parity_search import Constant, constants_of

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

USUAL_PAGE_BYTES = 2 << 20
"""Drivers map graphics memory in pages of 2 MiB; common practice, no source."""

_SEED = 5
_NEEDED_BITS = 12.0
"""Words lie in order on most benches: more than a hint must say that they do not; estimate."""


def constants_within_pages(
    points: NDArray[np.uint64], page_bytes: int
) -> tuple[Constant, ...]:
    """Masks below the page size whose parity is the same for all addresses of a page."""
    one, other = pairs_within_pages(points, page_bytes)
    return constants_of(one ^ other, Ground(0, page_bytes, even=True))


def pairs_within_pages(
    points: NDArray[np.uint64], page_bytes: int
) -> tuple[NDArray[np.uint64], NDArray[np.uint64]]:
    """Pairs of addresses of one page, each address in two pairs at most, by chance."""
    import numpy as np

    # Not neighbours: these are close together, so that high bits are alike without any rule.
    mixed = np.random.default_rng(_SEED).permutation(points)
    mixed = mixed[np.argsort(mixed // np.uint64(page_bytes), kind="stable")]
    pages = mixed // np.uint64(page_bytes)
    together = pages[1:] == pages[:-1]
    return mixed[1:][together], mixed[:-1][together]


def more_within_pages(
    within: tuple[Constant, ...], over_all: tuple[Constant, ...], page_bytes: int
) -> bool:
    """Whether words of a page share parities that none over all address bits explains.

    Of pages in their order each such parity goes on above the page: the same mask with higher bits
    is constant over all words.
    """
    below = gf2.reduced(constant.mask & (page_bytes - 1) for constant in over_all)
    new = [c for c in within if not gf2.spans(below.values(), c.mask)]
    return sum(constant.worth_bits for constant in new) >= _NEEDED_BITS
