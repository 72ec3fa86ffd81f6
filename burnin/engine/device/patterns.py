"""Pattern families: what is written to memory, which faults each family is there to find.

Every family is a sequence of passes over the whole test area (write, check, check-then-write,
pause, hammer) and a rule that gives each 32-bit word from its address alone, so that writing and
checking need no second copy. All rules are one of four recipes with two numbers; the processor
(`word`, `words`), the WGSL and the CUDA kernels evaluate the same recipes.

Sources, named per family: A. J. van de Goor, "Testing Semiconductor Memories: Theory and
Practice", Wiley 1991; A. J. van de Goor and I. B. S. Tlili, "March tests for word-oriented
memories", DATE 1998; J. H. de Jonge and A. J. Smeulders, "Moving inversions test pattern is
thorough, yet speedy", Computer Design, May 1976; M. Jarzynski and M. Olano, "Hash functions for
GPU rendering", Journal of Computer Graphics Techniques 9(3), 2020; Y. Kim et al., "Flipping bits
in memory without accessing them", ISCA 2014. Titles and years are given from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum, StrEnum
from typing import TYPE_CHECKING

from burnin.core.errors import EngineError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

ONES = 0xFFFFFFFF
ADDRESS_FOLD = 0x9E3779B1
"""Odd factor that folds address bits 32 and up into a word: an odd factor loses none of them."""
STEP_KEY = 0x9E3779B9
"""Distance of the generator's keys from step to step (2^32 over the golden ratio)."""


class PassKind(StrEnum):
    """One way over the test area."""

    WRITE = "write"
    CHECK = "check"
    CHECK_THEN_WRITE = "check then write"
    PAUSE = "pause"
    HAMMER = "hammer"


@dataclass(frozen=True)
class Pass:
    """One pass: `expect` and `write` are step numbers of the family, -1 where it does neither.

    `descending` goes from the last address to the first; `pause_s` seconds without any access;
    `rounds` of a hammer pass is how often each aggressor line is read.
    """

    kind: PassKind
    write: int = -1
    expect: int = -1
    descending: bool = False
    pause_s: float = 0.0
    rounds: int = 0


@dataclass(frozen=True)
class PatternFamily:
    """A family: the fault classes it is there to find, where it was published, its passes."""

    name: str
    finds: tuple[str, ...]
    source: str
    steps: int
    passes: tuple[Pass, ...]


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


def _write_and_check(steps: int) -> tuple[Pass, ...]:
    passes: list[Pass] = []
    for step in range(steps):
        passes += [Pass(PassKind.WRITE, write=step), Pass(PassKind.CHECK, expect=step)]
    return tuple(passes)


def _moving_inversions() -> tuple[Pass, ...]:
    """Each of 8 bytes walks: write it, invert upwards, invert back downwards, check."""
    passes: list[Pass] = []
    for base in range(0, 16, 2):
        passes += [
            Pass(PassKind.WRITE, write=base),
            Pass(PassKind.CHECK_THEN_WRITE, expect=base, write=base + 1),
            Pass(PassKind.CHECK_THEN_WRITE, expect=base + 1, write=base, descending=True),
            Pass(PassKind.CHECK, expect=base),
        ]
    return tuple(passes)


def _march_c_minus() -> tuple[Pass, ...]:
    """{any(w0); up(r0,w1); up(r1,w0); down(r0,w1); down(r1,w0); any(r0)} for each background."""
    passes: list[Pass] = []
    for zero in range(0, 12, 2):
        one = zero + 1
        passes += [
            Pass(PassKind.WRITE, write=zero),
            Pass(PassKind.CHECK_THEN_WRITE, expect=zero, write=one),
            Pass(PassKind.CHECK_THEN_WRITE, expect=one, write=zero),
            Pass(PassKind.CHECK_THEN_WRITE, expect=zero, write=one, descending=True),
            Pass(PassKind.CHECK_THEN_WRITE, expect=one, write=zero, descending=True),
            Pass(PassKind.CHECK, expect=zero),
        ]
    return tuple(passes)


def _with_between(steps: int, between: Pass) -> tuple[Pass, ...]:
    passes: list[Pass] = []
    for step in range(steps):
        passes += [Pass(PassKind.WRITE, write=step), between, Pass(PassKind.CHECK, expect=step)]
    return tuple(passes)


_GOOR = "van de Goor, Testing Semiconductor Memories (1991)"

FAMILIES: dict[str, PatternFamily] = {
    family.name: family
    for family in (
        PatternFamily(
            "solid",
            ("stuck-at", "transition"),
            f"{_GOOR}: zero-one test, here w0 r0 w1 r1 w0 r0",
            3,
            _write_and_check(3),
        ),
        PatternFamily(
            "checkerboard",
            ("stuck-at", "bridge between neighbouring cells", "leakage"),
            f"{_GOOR}: checkerboard",
            2,
            _write_and_check(2),
        ),
        PatternFamily(
            "walking_bits",
            ("stuck-at", "bridge between data lines", "coupling within a word"),
            f"{_GOOR}: walking 1/0, walked along the word",
            64,
            _write_and_check(64),
        ),
        PatternFamily(
            "own_address",
            ("address decoder",),
            "common practice, no source: each word holds its address, then its complement",
            2,
            _write_and_check(2),
        ),
        PatternFamily(
            "moving_inversions",
            ("transition", "coupling between words", "address decoder"),
            "de Jonge and Smeulders, Computer Design, May 1976",
            16,
            _moving_inversions(),
        ),
        PatternFamily(
            "pseudo_random",
            ("stuck-at", "transition", "pattern-sensitive coupling", "address decoder"),
            "PCG hash: Jarzynski and Olano, JCGT 9(3), 2020; then its complement",
            2,
            _write_and_check(2),
        ),
        PatternFamily(
            "march",
            ("stuck-at", "transition", "address decoder", "inversion, idempotent and state "
             "coupling"),
            f"March C-: {_GOOR}; data backgrounds: van de Goor and Tlili, DATE 1998",
            12,
            _march_c_minus(),
        ),
        PatternFamily(
            "hammer",
            ("disturbance by repeated row activation",),
            "Kim et al., ISCA 2014, as far as the card's cache lets reads through to memory",
            2,
            _with_between(2, Pass(PassKind.HAMMER, rounds=64)),
        ),
        PatternFamily(
            "retention",
            ("data retention",),
            f"{_GOOR}: data retention fault; checkerboard, a pause, its complement, a pause",
            2,
            _with_between(2, Pass(PassKind.PAUSE, pause_s=0.5)),
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
        known = ", ".join(FAMILIES)
        raise EngineError(f"memory pattern {pattern!r} is not known; known are {known}") from None


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


def pcg(value: int) -> int:
    """PCG hash of a 32-bit number (Jarzynski and Olano, JCGT 9(3), 2020); a bijection."""
    state = (value * 747796405 + 2891336453) & ONES
    mixed = (((state >> ((state >> 28) + 4)) ^ state) * 277803737) & ONES
    return (mixed >> 22) ^ mixed


def recipe(pattern: str, step: int, seed: int) -> Recipe:
    """The rule of one step; raises EngineError for an unknown pattern or step."""
    count = steps(pattern)
    if not 0 <= step < count:
        raise EngineError(f"memory pattern {pattern!r} has steps 0 to {count - 1}, not {step}")
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
    rule = recipe(pattern, step, seed)
    low, high = address_word & ONES, address_word >> 32
    if rule.kind is RecipeKind.ALTERNATE:
        return rule.b if low & 1 else rule.a
    if rule.kind is RecipeKind.WALK:
        return (1 << ((low + rule.a) & 31)) ^ rule.b
    if rule.kind is RecipeKind.ADDRESS:
        return low ^ ((high * ADDRESS_FOLD) & ONES) ^ rule.b
    return pcg(low ^ pcg((high + rule.a) & ONES)) ^ rule.b


def pcg_array(value: NDArray[np.uint32]) -> NDArray[np.uint32]:
    """`pcg` of every element."""
    import numpy as np

    state = value * np.uint32(747796405) + np.uint32(2891336453)
    mixed = ((state >> ((state >> np.uint32(28)) + np.uint32(4))) ^ state) * np.uint32(277803737)
    return np.asarray((mixed >> np.uint32(22)) ^ mixed, np.uint32)


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


def words(
    pattern: str, step: int, first_word: int, count: int, seed: int
) -> NDArray[np.uint32]:
    """`word` of `count` consecutive addresses from `first_word` on, shape (count,)."""
    import numpy as np

    addresses = np.arange(first_word, first_word + count, dtype=np.uint64)
    return words_of(recipe(pattern, step, seed), addresses)
