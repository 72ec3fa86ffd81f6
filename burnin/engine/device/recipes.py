"""Recipes: how each 32-bit word of a pattern follows from its address alone.

Writing and checking need no second copy of the memory. All rules are one of four recipes with two
numbers; the processor (`word_of`, `words_of`), the WGSL and the CUDA kernels evaluate the same.

Source of the hash: M. Jarzynski and M. Olano, "Hash functions for GPU rendering", Journal of
Computer Graphics Techniques 9(3), 2020 (title and year from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

ONES = 0xFFFFFFFF
ADDRESS_FOLD = 0x9E3779B1
"""Odd factor that folds address bits 32 and up into a word: an odd factor loses none of them."""
STEP_KEY = 0x9E3779B9
"""Distance of the generator's keys from step to step (2^32 over the golden ratio)."""


class RecipeKind(IntEnum):
    """How a word follows from its address; the numbers are the kernels' own."""

    ALTERNATE = 0
    WALK = 1
    ADDRESS = 2
    RANDOM = 3


@dataclass(frozen=True)
class Recipe:
    """A rule with its two 32-bit numbers.

    ALTERNATE: `a` at even word addresses, `b` at odd ones. WALK: one bit at (address + a) mod 32,
    xor `b`. ADDRESS: low 32 address bits xor folded high ones, xor `b`. RANDOM:
    pcg(low xor pcg(high + a)) xor `b`.
    """

    kind: RecipeKind
    a: int
    b: int


def pcg(value: int) -> int:
    """PCG hash of a 32-bit number (Jarzynski and Olano, JCGT 9(3), 2020); a bijection."""
    state = (value * 747796405 + 2891336453) & ONES
    mixed = (((state >> ((state >> 28) + 4)) ^ state) * 277803737) & ONES
    return (mixed >> 22) ^ mixed


def pcg_array(value: NDArray[np.uint32]) -> NDArray[np.uint32]:
    """`pcg` of every element."""
    import numpy as np

    state = value * np.uint32(747796405) + np.uint32(2891336453)
    mixed = ((state >> ((state >> np.uint32(28)) + np.uint32(4))) ^ state) * np.uint32(277803737)
    return np.asarray((mixed >> np.uint32(22)) ^ mixed, np.uint32)


def word_of(rule: Recipe, address_word: int) -> int:
    """The 32-bit word that `rule` puts at word address `address_word` (byte address over 4)."""
    low, high = address_word & ONES, address_word >> 32
    if rule.kind is RecipeKind.ALTERNATE:
        return rule.b if low & 1 else rule.a
    if rule.kind is RecipeKind.WALK:
        return (1 << ((low + rule.a) & 31)) ^ rule.b
    if rule.kind is RecipeKind.ADDRESS:
        return low ^ ((high * ADDRESS_FOLD) & ONES) ^ rule.b
    return pcg(low ^ pcg((high + rule.a) & ONES)) ^ rule.b


def words_of(rule: Recipe, addresses: NDArray[np.uint64]) -> NDArray[np.uint32]:
    """The words that `rule` puts at these word addresses, shape as `addresses`."""
    import numpy as np

    low = (addresses & np.uint64(ONES)).astype(np.uint32)
    high = (addresses >> np.uint64(32)).astype(np.uint32)
    a, b = np.uint32(rule.a), np.uint32(rule.b)
    if rule.kind is RecipeKind.ALTERNATE:
        found = np.where(low & np.uint32(1), b, a)
    elif rule.kind is RecipeKind.WALK:
        found = (np.uint32(1) << ((low + a) & np.uint32(31))) ^ b
    elif rule.kind is RecipeKind.ADDRESS:
        found = low ^ (high * np.uint32(ADDRESS_FOLD)) ^ b
    else:
        found = pcg_array(low ^ pcg_array(high + a)) ^ b
    return np.asarray(found, np.uint32)
