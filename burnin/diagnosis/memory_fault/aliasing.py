"""Whether words read what another address was given, and which address bits tell the two apart.

A pattern that holds each word's address, or a hash of it that can be turned back, says which
address a word came from: the sources of both are in `burnin.engine.device.recipes`. Of any other
content a word that was found elsewhere in the list says the same.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from burnin.diagnosis.memory_fault.failing_words import WORD_BYTES, FailingWords
from burnin.diagnosis.memory_fault.page_search import USUAL_PAGE_BYTES

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_ONES = 0xFFFF_FFFF
_MULTIPLY_BACK = pow(747796405, -1, 1 << 32)
_MIX_BACK = pow(277803737, -1, 1 << 32)
_TOLD = 6
_LEAST, _ENOUGH = 4, 6
_LOOKED_AT = 20_000


@dataclass(frozen=True)
class Aliased:
    """`share` of the words (of those whose content tells) came from another address.

    `masks`: by which bits of the byte address it differs, most often first, each with at least a
    twentieth of them. `telling`: how many words could tell.
    """

    share: float
    masks: tuple[int, ...]
    telling: int


def aliased(words: FailingWords) -> Aliased:
    """What the words' content says of where they came from."""
    import numpy as np

    some = slice(0, _LOOKED_AT)
    at = words.address_bytes[some] // np.uint64(WORD_BYTES)
    expected, got = words.expected[some], words.got[some]
    low = (at & np.uint64(_ONES)).astype(np.uint32)
    hashed = [_told_by(turn, words.swept_bytes, low, expected, got) for turn in _HASHED]
    plain = [_told_by(turn, words.swept_bytes, low, expected, got) for turn in _PLAIN]
    by_hash = max(hashed, key=lambda told: told.telling)
    # A data line flips one bit of a plain address too, but cannot make another's hash.
    if by_hash.telling >= _ENOUGH:
        return by_hash
    best = max(plain, key=lambda told: told.share * told.telling)
    return best if best.share >= 0.5 else _found_elsewhere(words)


def _found_elsewhere(words: FailingWords) -> Aliased:
    """How many words read what the list has as written to another address, in the same pattern."""
    import numpy as np

    some = slice(0, _LOOKED_AT)
    pattern = words.pattern[some].astype(np.uint64) << np.uint64(32)
    expected, got = pattern | words.expected[some], pattern | words.got[some]
    values, first, counts = np.unique(expected, return_index=True, return_counts=True)
    once = values[counts == 1]
    if len(once) < max(_ENOUGH, len(expected) // 2):
        return Aliased(0.0, (), 0)  # few words are written again and again: that proves nothing
    there = np.isin(got, once)
    source = first[np.searchsorted(values, got[there])]
    at = words.address_bytes[some]
    masks = Counter((at[there] ^ at[source]).tolist())
    often = [mask for mask, count in masks.most_common(_TOLD) if count * 20 >= len(got)]
    return Aliased(float(np.mean(there)), tuple(often), len(got))


def _told_by(
    turn: Callable[[NDArray[np.uint32]], NDArray[np.uint32]],
    swept_bytes: int,
    low: NDArray[np.uint32],
    expected: NDArray[np.uint32],
    got: NDArray[np.uint32],
) -> Aliased:
    key = turn(expected) ^ low
    of = _same_key(key, low)
    if of.sum() < _LEAST:
        return Aliased(0.0, (), 0)
    return _from_elsewhere((turn(got) ^ key)[of], low[of], swept_bytes)


def _from_elsewhere(
    source: NDArray[np.uint32], low: NDArray[np.uint32], swept_bytes: int
) -> Aliased:
    """Whether the sources, word addresses, lie in the area and differ by few masks from theirs."""
    import numpy as np

    inside = source.astype(np.uint64) * np.uint64(WORD_BYTES) < swept_bytes
    apart = (source ^ low)[inside]
    counted = Counter(apart.tolist())
    counted.pop(0, None)
    least = max(_LEAST - 1, len(low) / 20)
    often = [(mask, count) for mask, count in counted.most_common(_TOLD) if count >= least]
    gathered = sum(count for _, count in often)
    # Of a remainder rule the distance is the same, not the bits: sources that lie in the area at
    # all are rare by chance where the area is a small part of 2^32 words.
    steps = Counter(np.abs(source.astype(np.int64) - low.astype(np.int64))[inside].tolist())
    steps.pop(0, None)
    by_step = sum(count for _, count in steps.most_common(2) if count >= least)
    # Of pages in any order only what lies below the page is the same.
    page = np.uint32(USUAL_PAGE_BYTES // WORD_BYTES - 1)
    in_page = Counter(((source ^ low) & page)[inside & (source != low)].tolist())
    by_page = sum(count for _, count in in_page.most_common(2) if count >= least)
    return Aliased(
        max(gathered, by_step, by_page) / len(low),
        tuple(mask * WORD_BYTES for mask, _ in often),
        len(low),
    )


def _same_key(key: NDArray[np.uint32], low: NDArray[np.uint32]) -> NDArray[np.bool_]:
    """Words whose content follows from their address with a key that many addresses share."""
    import numpy as np

    both = np.unique(key.astype(np.uint64) << np.uint64(32) | low)
    values, counts = np.unique((both >> np.uint64(32)).astype(np.uint32), return_counts=True)
    often = values[counts >= max(3, 0.01 * len(key))]
    return np.isin(key, often)


def _as_it_is(words: NDArray[np.uint32]) -> NDArray[np.uint32]:
    return words


def _inverted(words: NDArray[np.uint32]) -> NDArray[np.uint32]:
    return ~words


def _byte_address(words: NDArray[np.uint32]) -> NDArray[np.uint32]:
    import numpy as np

    return words >> np.uint32(2)


def pcg_back(words: NDArray[np.uint32]) -> NDArray[np.uint32]:
    """The numbers of which `burnin.engine.device.recipes.pcg` made these words."""
    import numpy as np

    mixed = words ^ (words >> np.uint32(22))
    state = mixed * np.uint32(_MIX_BACK)
    shift = (state >> np.uint32(28)) + np.uint32(4)
    found = state
    for _ in range(8):  # each round settles at least four more bits, from the top
        found = state ^ (found >> shift)
    return np.asarray((found - np.uint32(2891336453)) * np.uint32(_MULTIPLY_BACK), np.uint32)


def _pcg_inverted_back(words: NDArray[np.uint32]) -> NDArray[np.uint32]:
    return pcg_back(~words)


_HASHED, _PLAIN = (pcg_back, _pcg_inverted_back), (_as_it_is, _inverted, _byte_address)
