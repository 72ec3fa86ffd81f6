"""What became of failing words: which bits flip, what is read, how warm it was, which patterns."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from burnin.diagnosis.memory_fault.aliasing import aliased
from burnin.diagnosis.memory_fault.failing_words import FailingWords

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_MOSTLY = 0.8
_HOT_C, _COOL_C = 78.0, 70.0
"""Memory that fails for heat alone fails near the top of its range; common practice, no source."""
_LEAST_SPAN_K = 8.0
_LEAST_WORDS = 8
HEAVY = frozenset(
    {"pseudo_random", "checkerboard", "hammer", "moving_inversions", "heavy", "random"}
)
"""Patterns that switch many lines at once and so draw most from the supply; estimate."""
ADDRESS_BOUND = frozenset({"own_address", "pseudo_random", "walking_bits", "address", "random"})
"""Patterns whose words differ from address to address."""


UNIFORM = frozenset({"solid", "march", "moving_inversions"})
"""Patterns of one word everywhere: another address's word is the same, or still the complement."""


class Flips(StrEnum):
    """Which bits flip."""

    ONE_BIT = "one_bit"
    FEW_BITS = "few_bits"
    SINGLE = "single"
    MANY = "many"


class Got(StrEnum):
    """What is read instead."""

    REST = "rest"
    ALIAS = "alias"
    OTHER = "other"


class Warmth(StrEnum):
    """At which temperatures words failed."""

    WARM_ONLY = "warm_only"
    ANY = "any"
    UNKNOWN = "unknown"


class Patterns(StrEnum):
    """In which patterns words failed."""

    ADDRESS_BOUND = "address_bound"
    HEAVY = "heavy"
    ANY = "any"
    UNKNOWN = "unknown"


class Again(StrEnum):
    """Whether the same word failed again."""

    OFTEN = "often"
    SOMETIMES = "sometimes"
    NEVER = "never"
    UNKNOWN = "unknown"


@dataclass(frozen=True)
class WordLooks:
    """What became of the words; `bits` flip in at least one word in fifty."""

    flips: Flips
    got: Got
    warmth: Warmth
    patterns: Patterns
    again: Again
    bits: tuple[int, ...]
    alias_masks: tuple[int, ...]


def looks_of(words: FailingWords) -> WordLooks:
    """What became of these words."""
    shares = bit_shares(words.flipped)
    flips = _flips(words.flipped, shares)
    alias = aliased(words)
    got = _got(words, flips, alias.share)
    return WordLooks(
        flips,
        got,
        _warmth(words),
        _patterns(words),
        _again(words),
        tuple(bit for bit, share in enumerate(shares) if share >= 0.02),
        alias.masks if got is Got.ALIAS else (),
    )


def bit_shares(flipped: NDArray[np.uint32]) -> list[float]:
    """Share of the words in which each of the 32 bits flips."""
    import numpy as np

    if not len(flipped):
        return [0.0] * 32
    return [float(np.mean((flipped >> np.uint32(bit)) & np.uint32(1))) for bit in range(32)]


def core_of(words: FailingWords) -> NDArray[np.bool_]:
    """The words that look alike: the same bit flipped alone or the same word read, else all."""
    import numpy as np

    for values in (words.flipped, words.got):
        most, share = _most_common(values)
        alone = values is words.got or int(most).bit_count() == 1
        if alone and share >= 0.6:
            return np.asarray(values == most, np.bool_)
    return np.ones(len(words), np.bool_)


def _most_common(values: NDArray[np.uint32]) -> tuple[np.uint32, float]:
    import numpy as np

    found, counts = np.unique(values, return_counts=True)
    return found[counts.argmax()], float(counts.max()) / len(values)


def _flips(flipped: NDArray[np.uint32], shares: list[float]) -> Flips:
    import numpy as np

    most, share = _most_common(flipped)
    if share >= _MOSTLY and int(most).bit_count() == 1:
        return Flips.ONE_BIT
    leading = sorted(range(32), key=lambda bit: -shares[bit])[:4]
    outside = np.uint32(~sum(1 << bit for bit in leading) & 0xFFFF_FFFF)
    if float(np.mean((flipped & outside) == 0)) >= 0.9:
        return Flips.FEW_BITS
    weights = np.bitwise_count(flipped)
    return Flips.SINGLE if float(np.mean(weights <= 2)) >= _MOSTLY else Flips.MANY


def _got(words: FailingWords, flips: Flips, alias_share: float) -> Got:
    if alias_share >= 0.5 and flips is not Flips.ONE_BIT and not _fails_uniformly(words):
        return Got.ALIAS
    _, share = _most_common(words.got)
    _, asked = _most_common(words.expected)
    return Got.REST if share >= _MOSTLY and asked < 0.75 else Got.OTHER


def _fails_uniformly(words: FailingWords) -> bool:
    """Whether words fail where every address was given the same, which no address line does."""
    import numpy as np

    uniform = [n for n, name in enumerate(words.pattern_names) if name in UNIFORM]
    turned = words.flipped == np.uint32(0xFFFF_FFFF)
    return bool(np.mean(np.isin(words.pattern, uniform) & ~turned) > 0.1)


def _warmth(words: FailingWords) -> Warmth:
    import numpy as np

    known = words.memory_c[np.isfinite(words.memory_c)]
    if len(known) * 2 < len(words) or not len(known):
        return Warmth.UNKNOWN
    least = float(np.percentile(known, 5))
    if words.tested_c and words.tested_c[1] - words.tested_c[0] >= _LEAST_SPAN_K:
        low, high = words.tested_c
        return Warmth.WARM_ONLY if least > low + (high - low) / 2 else Warmth.ANY
    if least >= _HOT_C:
        return Warmth.WARM_ONLY
    return Warmth.ANY if least < _COOL_C else Warmth.UNKNOWN


def _patterns(words: FailingWords) -> Patterns:
    import numpy as np

    counts = np.bincount(words.pattern, minlength=len(words.pattern_names))
    by_name = dict(zip(words.pattern_names, counts.tolist(), strict=False))
    most = 0.95 * len(words)
    if len(words) < _LEAST_WORDS or not any(by_name):
        return Patterns.UNKNOWN
    if sum(n for name, n in by_name.items() if name in ADDRESS_BOUND) >= most:
        return Patterns.ADDRESS_BOUND
    if sum(n for name, n in by_name.items() if name in HEAVY) >= 0.85 * len(words):
        return Patterns.HEAVY
    return Patterns.ANY


def _again(words: FailingWords) -> Again:
    import numpy as np

    if len(words) < _LEAST_WORDS:
        return Again.UNKNOWN
    each = len(words) / max(1, len(np.unique(words.address_bytes)))
    return Again.OFTEN if each >= 3 else Again.SOMETIMES if each >= 1.15 else Again.NEVER
