"""Pattern families: what is written to memory, which faults each family is there to find.

Every family is a sequence of passes over the whole test area (write, check, check-then-write,
pause, hammer) and a recipe for each step (`burnin.engine.device.recipes`).

Sources, named per family: A. J. van de Goor, "Testing Semiconductor Memories: Theory and
Practice", Wiley 1991; A. J. van de Goor and I. B. S. Tlili, "March tests for word-oriented
memories", DATE 1998; J. H. de Jonge and A. J. Smeulders, "Moving inversions test pattern is
thorough, yet speedy", Computer Design, May 1976; M. Jarzynski and M. Olano, "Hash functions for
GPU rendering", Journal of Computer Graphics Techniques 9(3), 2020; Y. Kim et al., "Flipping bits
in memory without accessing them", ISCA 2014. Titles and years are given from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from burnin.core.errors import EngineError
from burnin.engine.device.meanings import FaultClass, PatternReason
from burnin.engine.device.passes import (
    Pass,
    PassKind,
    march_c_minus,
    moving_inversions,
    with_between,
    write_and_check,
)
from burnin.engine.device.recipes import ONES, STEP_KEY, Recipe, RecipeKind, pcg, word_of, words_of

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


@dataclass(frozen=True)
class PatternFamily:
    """A family: the fault classes it is there to find, where it was published, its passes."""

    name: str
    finds: tuple[FaultClass, ...]
    source: str
    steps: int
    passes: tuple[Pass, ...]


_GOOR = "van de Goor, Testing Semiconductor Memories (1991)"

FAMILIES: dict[str, PatternFamily] = {
    family.name: family
    for family in (
        PatternFamily(
            "solid",
            (FaultClass.STUCK_AT, FaultClass.TRANSITION),
            f"{_GOOR}: zero-one test, here w0 r0 w1 r1 w0 r0",
            3,
            write_and_check(3),
        ),
        PatternFamily(
            "checkerboard",
            (FaultClass.STUCK_AT, FaultClass.BRIDGE_OF_CELLS, FaultClass.LEAKAGE),
            f"{_GOOR}: checkerboard",
            2,
            write_and_check(2),
        ),
        PatternFamily(
            "walking_bits",
            (
                FaultClass.STUCK_AT,
                FaultClass.BRIDGE_OF_DATA_LINES,
                FaultClass.COUPLING_IN_WORD,
            ),
            f"{_GOOR}: walking 1/0, walked along the word",
            64,
            write_and_check(64),
        ),
        PatternFamily(
            "own_address",
            (FaultClass.ADDRESS_DECODER,),
            "common practice, no source: each word holds its address, then its complement",
            2,
            write_and_check(2),
        ),
        PatternFamily(
            "moving_inversions",
            (
                FaultClass.TRANSITION,
                FaultClass.COUPLING_OF_WORDS,
                FaultClass.ADDRESS_DECODER,
            ),
            "de Jonge and Smeulders, Computer Design, May 1976",
            16,
            moving_inversions(),
        ),
        PatternFamily(
            "pseudo_random",
            (
                FaultClass.STUCK_AT,
                FaultClass.TRANSITION,
                FaultClass.PATTERN_SENSITIVE,
                FaultClass.ADDRESS_DECODER,
            ),
            "PCG hash: Jarzynski and Olano, JCGT 9(3), 2020; then its complement",
            2,
            write_and_check(2),
        ),
        PatternFamily(
            "march",
            (
                FaultClass.STUCK_AT,
                FaultClass.TRANSITION,
                FaultClass.ADDRESS_DECODER,
                FaultClass.COUPLING,
            ),
            f"March C-: {_GOOR}; data backgrounds: van de Goor and Tlili, DATE 1998",
            12,
            march_c_minus(),
        ),
        PatternFamily(
            "hammer",
            (FaultClass.ROW_DISTURBANCE,),
            "Kim et al., ISCA 2014, as far as the card's cache lets reads through to memory",
            2,
            with_between(2, Pass(PassKind.HAMMER, rounds=64)),
        ),
        PatternFamily(
            "retention",
            (FaultClass.RETENTION,),
            f"{_GOOR}: data retention fault; checkerboard, a pause, its complement, a pause",
            2,
            with_between(2, Pass(PassKind.PAUSE, pause_s=0.5)),
        ),
    )
}
"""Every family by its name."""

_MARCH_BACKGROUNDS = (
    0x00000000, 0x55555555, 0x33333333, 0x0F0F0F0F, 0x00FF00FF, 0x0000FFFF,
)


def family(pattern: str) -> PatternFamily:
    """The family of that name; raises EngineError for one that is not known."""
    try:
        return FAMILIES[pattern]
    except KeyError:
        unknown = PatternReason.UNKNOWN(pattern=pattern, known=tuple(FAMILIES))
        raise EngineError(unknown) from None


def steps(pattern: str) -> int:
    """How many different contents the family writes."""
    return family(pattern).steps


def passes(pattern: str) -> tuple[Pass, ...]:
    """The family's passes over the test area, in order."""
    return family(pattern).passes


def written_and_read(pattern: str) -> tuple[int, int]:
    """How often the whole area is written and read by one run of the family."""
    kinds = [p.kind for p in passes(pattern)]
    both = kinds.count(PassKind.CHECK_THEN_WRITE)
    return kinds.count(PassKind.WRITE) + both, kinds.count(PassKind.CHECK) + both


def kinds_of(pattern: str) -> tuple[frozenset[RecipeKind], frozenset[RecipeKind]]:
    """Kinds of rules that the family writes and checks, and those of its march elements."""
    used = frozenset(recipe(pattern, step, 0).kind for step in range(steps(pattern)))
    marches = any(p.kind is PassKind.CHECK_THEN_WRITE for p in passes(pattern))
    return used, used if marches else frozenset()


def recipe(pattern: str, step: int, seed: int) -> Recipe:
    """The rule of one step; raises EngineError for an unknown pattern or step."""
    count = steps(pattern)
    if not 0 <= step < count:
        none = PatternReason.NO_SUCH_STEP(pattern=pattern, last_step=count - 1, step=step)
        raise EngineError(none)
    inverse = ONES if step % 2 else 0
    if pattern == "walking_bits":
        return Recipe(RecipeKind.WALK, step // 2, inverse)
    if pattern == "own_address":
        return Recipe(RecipeKind.ADDRESS, 0, inverse)
    if pattern == "pseudo_random":
        return Recipe(RecipeKind.RANDOM, pcg((seed + (step // 2) * STEP_KEY) & ONES), inverse)
    if pattern == "march":
        even = odd = _MARCH_BACKGROUNDS[step // 2]
    elif pattern == "moving_inversions":
        even = odd = 0x01010101 << (step // 2)
    elif pattern == "solid":
        even = odd = 0
    else:  # checkerboard, hammer, retention: neighbours differ in every bit
        even, odd = 0x55555555, 0xAAAAAAAA
    return Recipe(RecipeKind.ALTERNATE, even ^ inverse, odd ^ inverse)


def word(pattern: str, step: int, address_word: int, seed: int) -> int:
    """The 32-bit word that `step` puts at word address `address_word` (byte address over 4)."""
    return word_of(recipe(pattern, step, seed), address_word)


def words(
    pattern: str, step: int, first_word: int, count: int, seed: int
) -> NDArray[np.uint32]:
    """`word` of `count` consecutive addresses from `first_word` on, shape (count,)."""
    import numpy as np

    addresses = np.arange(first_word, first_word + count, dtype=np.uint64)
    return words_of(recipe(pattern, step, seed), addresses)
