"""How far a fault reaches over the addresses: a channel, a bank, a column, a window, places."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from burnin.diagnosis.memory_fault import gf2
from burnin.diagnosis.memory_fault.address_rule import Asked, obeying, rule_of
from burnin.diagnosis.memory_fault.answer import AddressRule
from burnin.diagnosis.memory_fault.failing_words import WORD_BYTES, FailingWords
from burnin.diagnosis.memory_fault.ground import Ground

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

WINDOW_BYTES = 4 << 20
"""A row of one bank: some KiB in a chip, spread over all channels and at most all banks."""
_LEAST_PAIRS = 40
_GATHERED = 0.85
"""Share of the words that a window or places must hold."""
_LEAST_OF_WINDOW = 6
_MOST_CHECKS_OF_A_WORD = 128
"""Every pattern family once checks a word about so often (`burnin.engine.device.patterns`)."""
_LEAST_CHANNELS_BITS = 1.5
"""Three channels at least: a rule that makes fewer parts is no more than a piece of one."""
_CHANNEL_BITS, _BANK_BITS = 4.7, 10.7
"""Up to 24 channels, 32 banks in each of up to 32: halvings that such a part makes; estimate."""


class Reach(StrEnum):
    """What part of the memory the failing words take up."""

    CHANNEL = "channel"
    BANK = "bank"
    COLUMN = "column"
    WINDOW = "window"
    PLACES = "places"
    SCATTERED = "scattered"
    UNTOLD = "untold"


@dataclass(frozen=True)
class Reached:
    """A reach with its rule; `holds`, shape (n,): which of the listed words it explains.

    `halvings`: log2 of how many parts the rule makes of the memory. `high_bits_from`: address bits
    from this one on never vary, because only the first failing words were listed (None: all do).
    """

    reach: Reach
    rule: AddressRule
    holds: NDArray[np.bool_]
    halvings: float
    high_bits_from: int | None = None


def reached(words: FailingWords, core: NDArray[np.bool_]) -> Reached:
    """The reach of failing words, of which those of `core`, shape (n,), look alike."""
    import numpy as np

    places, counts = _repeated(*np.unique(words.address_bytes[core], return_counts=True))
    failed = _failed_at_least(words)
    window = _window(places)
    if len(window) >= max(_LEAST_OF_WINDOW, _GATHERED * len(places)):
        first, last = int(window[0]), int(window[-1])
        apart = words.swept_bytes >= 64 * (last - first)
        if apart and failed <= (last - first) // WORD_BYTES + 1 and _is_row(window, counts):
            rule = AddressRule(window_bytes=(first, last), significance_bits=_worth(words, window))
            return Reached(Reach.WINDOW, rule, obeying(words.address_bytes, rule), 99.0)
    few = np.sort(counts)[::-1][: max(5, min(48, len(words) // 4))]
    if few.sum() >= _GATHERED * counts.sum() and (len(places) <= 5 or _again(counts)):
        often = places[counts >= max(1.0, 0.2 * float(np.median(few)))]
        holds = np.isin(words.address_bytes, often)
        return Reached(Reach.PLACES, AddressRule(), holds, 99.0)
    return _by_rule(words, places, failed)


def _repeated(
    places: NDArray[np.uint64], counts: NDArray[np.intp]
) -> tuple[NDArray[np.uint64], NDArray[np.intp]]:
    """Without places that failed once, where most failing words are of places that often did."""
    import numpy as np

    falling = np.sort(counts)[::-1]
    usual = int(falling[np.searchsorted(np.cumsum(falling), counts.sum() / 2)])
    if usual < 4:
        return places, counts
    often = counts >= max(2.0, usual / 4)
    return places[often], counts[often]


def _by_rule(words: FailingWords, places: NDArray[np.uint64], failed: float) -> Reached:
    import numpy as np

    ground, high_from = Ground(0, words.swept_bytes), None
    last = int(places[int(0.95 * (len(places) - 1))]) + WORD_BYTES
    if failed > last // WORD_BYTES and last < words.swept_bytes // 2:
        # More failed than lie below the last word listed: the list holds the first ones alone.
        ground, high_from = Ground(0, last), last.bit_length()
    most = math.inf
    if high_from is None and not words.all_listed:
        most = max(0.0, math.log2(words.swept_bytes / WORD_BYTES / max(1.0, failed)) + 0.5)
    evenly = not words.all_listed and _evenly_taken(places)
    rule = rule_of(Asked(places, ground, words.page_bytes, most, evenly))
    halvings = math.log2(rule.one_of)
    holds = obeying(words.address_bytes, rule)
    if not halvings:
        reach = Reach.UNTOLD if high_from or _pages_hide(words, places) else Reach.SCATTERED
        return Reached(reach, rule, np.ones(len(words), np.bool_), 0.0, high_from)
    if halvings < _LEAST_CHANNELS_BITS:
        return Reached(Reach.UNTOLD, rule, holds, halvings, high_from)
    return Reached(_reach_of(rule, halvings), rule, holds, halvings, high_from)


def _evenly_taken(places: NDArray[np.uint64]) -> bool:
    """Whether pieces of the memory were listed at even steps, which look like a rule of their own.

    Pieces of 64 words and more; where nearly all steps between them are of two lengths, the steps
    are the list's.
    """
    import numpy as np

    pieces = np.unique(places >> np.uint64(8))
    steps, counts = np.unique(np.diff(pieces), return_counts=True)
    if len(pieces) < 8 or len(places) < 16 * len(pieces):
        return False
    wide = steps >= 256
    most = np.sort(counts[wide])[::-1][:2].sum() if wide.any() else 0
    return bool(most >= 0.8 * counts.sum())


def _pages_hide(words: FailingWords, places: NDArray[np.uint64]) -> bool:
    """Whether pages lie in any order and too few of the places share one."""
    import numpy as np

    if words.page_bytes is None:
        return False
    return len(places) - len(np.unique(places // np.uint64(words.page_bytes))) < _LEAST_PAIRS


def _reach_of(rule: AddressRule, halvings: float) -> Reach:
    masks = [*(parity.mask for parity in rule.parities), *rule.within_pages]
    fixed = [bit for bit in range(2, 8) if gf2.spans(masks, 1 << bit)]
    in_burst = sum(bit <= 4 for bit in fixed)
    if halvings > _BANK_BITS or in_burst >= 2 or {5, 6} <= set(fixed):
        return Reach.COLUMN
    return Reach.CHANNEL if halvings <= _CHANNEL_BITS else Reach.BANK


def _failed_at_least(words: FailingWords) -> float:
    """How many different words failed at least, of all that were counted."""
    if words.all_listed:
        return 0.0
    passes = int(words.pass_number.max()) + 1 if len(words) else 1
    return words.failing_total / (_MOST_CHECKS_OF_A_WORD * passes)


def _window(places: NDArray[np.uint64]) -> NDArray[np.uint64]:
    """The places within the fullest stretch of `WINDOW_BYTES`."""
    import numpy as np

    if not len(places):
        return places
    ends = np.searchsorted(places, places + np.uint64(WINDOW_BYTES), side="right")
    held = ends - np.arange(len(places))
    start = int(held.argmax())
    return places[start : start + int(held[start])]


def _is_row(window: NDArray[np.uint64], counts: NDArray[np.intp]) -> bool:
    """Whether there are more than a few places, many of them next to each other."""
    return len(window) >= _LEAST_OF_WINDOW and len(counts) >= _LEAST_OF_WINDOW


def _worth(words: FailingWords, window: NDArray[np.uint64]) -> float:
    """Log2 odds of so many places so close together, against uniform ones."""
    span = max(WORD_BYTES, int(window[-1] - window[0]))
    return (len(window) - 2) * math.log2(max(2.0, words.swept_bytes / span))


def _again(counts: NDArray[np.intp]) -> bool:
    """Whether the same places fail again and again."""
    return bool(counts.sum() >= 3 * len(counts))
