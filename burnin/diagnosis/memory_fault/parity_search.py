"""Which parities of address bits are the same for (nearly) all of some addresses.

Addresses that obey parities are an affine subspace of GF(2)^n. A handful of them, a few more than
there are bits, fixes all masks that are constant on it; strays in the handful only take masks away,
so many handfuls together bring all of them (random sample consensus, M. A. Fischler and R. C.
Bolles, Communications of the ACM 24(6), 1981, from memory). A mask counts once it says more than
it cost to find it: of n bits taken w at a time there are many masks.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from burnin.diagnosis.memory_fault import gf2
from burnin.diagnosis.memory_fault.ground import Ground

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

MOST_STRAYS = 0.13
"""Share of addresses that may break a parity, each: half of the strays do by chance."""
LEAST_STRAYS = 0.01
_MORE_THAN_BITS = 10
_ROUNDS = 60
_ROUNDS_OF_FEW = 120
_FEW = 72
_LOOKED_AT = 8192
_NEEDED_BITS = (5.0, 3.0, 0.0, 3.0, 5.0)
"""What the first, second, … mask must be worth: a card without a remainder has 8 or 16 channels, so
that three masks are likely once there are two; estimate."""
_LEAST_BITS = min(_NEEDED_BITS)
_SAID_BY_AREA = 0.75
"""Where so many of all words have that parity, as of the topmost bit, strays cannot be told."""
_USUAL_WEIGHT, _HEAVY_BITS = 8, 0.5
"""Few parities join more than so many address bits; what each further one costs; estimate."""
_MASK_BITS = 2.0
"""Cost of one more parity in a rule, besides which it is; estimate."""


@dataclass(frozen=True)
class Constant:
    """A mask whose parity is `wanted` but for the share `broken` of the addresses.

    `worth_bits`: log2 odds against chance, less what it costs to have found it.
    """

    mask: int
    wanted: int
    broken: float
    worth_bits: float


def constants_of(points: NDArray[np.uint64], ground: Ground, seed: int = 1) -> tuple[Constant, ...]:
    """Independent masks that are constant on `points`, shape (n,), each once; lightest first.

    `points` are different byte addresses, or differences of addresses where `ground.even`.
    """
    import numpy as np

    bits = ground.bits
    if len(points) < 4 or not bits:
        return ()
    random = np.random.default_rng(seed)
    looked = points
    if len(points) > _LOOKED_AT:
        looked = points[random.choice(len(points), _LOOKED_AT, replace=False)]
    seen: dict[int, Constant | None] = {}

    def worth(mask: int) -> Constant | None:
        if mask not in seen:
            seen[mask] = _constant(mask, looked, ground)
        return seen[mask]

    spaces: set[tuple[int, ...]] = set()
    for handful in _handfuls(looked, len(bits), random):
        space = _even_masks(handful, ground)
        if space not in spaces:
            spaces.add(space)
            for mask in gf2.lightest(space):
                worth(mask)
    kept = _independent([found for found in seen.values() if found])
    if kept:
        clean = looked[_obeying(looked, kept)]
        some = clean if len(clean) <= _FEW * 8 else random.choice(clean, _FEW * 8, replace=False)
        for mask in gf2.lightest(_even_masks(some.tolist(), ground)):
            worth(mask)
    basis = gf2.lightest([c.mask for c in _independent([c for c in seen.values() if c])])
    return tuple(found for mask in basis if (found := _constant(mask, looked, ground, known=True)))


def _handfuls(
    points: NDArray[np.uint64], bits: int, random: np.random.Generator
) -> Iterator[list[int]]:
    """Samples of the points as integers; of few points, nearly all of them each time."""
    count = len(points)
    if count <= _FEW:
        yield points.tolist()
        for left_out in range(count):
            yield [p for n, p in enumerate(points.tolist()) if n != left_out]
        for _ in range(_ROUNDS_OF_FEW):
            away = int(random.integers(2, 2 + max(1, count // 12)))
            yield random.choice(points, max(4, count - away), replace=False).tolist()
        return
    for number in range(_ROUNDS):
        size = bits + (_MORE_THAN_BITS if number % 3 else 3)
        yield random.choice(points, min(size, count - 4), replace=False).tolist()


def _even_masks(points: list[int], ground: Ground) -> tuple[int, ...]:
    """A basis of the masks that are constant on all of these points."""
    vectors = points if ground.even else [point ^ points[0] for point in points[1:]]
    return gf2.orthogonal(vectors, ground.bits)


def _constant(
    mask: int, points: NDArray[np.uint64], ground: Ground, *, known: bool = False
) -> Constant | None:
    """A mask with what it is worth; None where that is too little and it is not `known`."""
    import numpy as np

    odd = np.bitwise_count(points & np.uint64(mask)) & np.uint8(1)
    share = float(np.mean(odd))
    wanted = 0 if ground.even else int(share > 0.5)
    broken = share if wanted == 0 else 1.0 - share
    if broken > MOST_STRAYS and not known:
        return None
    by_chance = ground.share(mask, wanted)
    if by_chance > _SAID_BY_AREA and not known:
        return None
    low = (mask & -mask).bit_length() - 1
    # Words side by side below the mask's lowest bit say one thing, not many.
    places = len(points) if ground.even else len(np.unique(points >> np.uint64(low)))
    stray = min(0.5, max(LEAST_STRAYS, broken))
    gain = (1.0 - broken) * math.log2((1.0 - stray) / by_chance)
    gain += broken * math.log2(stray / (1.0 - by_chance))
    weight = mask.bit_count()
    cost = math.log2(math.comb(len(ground.bits), min(weight, len(ground.bits)))) + _MASK_BITS
    cost += _HEAVY_BITS * max(0, weight - _USUAL_WEIGHT)
    worth_bits = (places - 1) * gain - cost
    if worth_bits < _LEAST_BITS and not known:
        return None
    return Constant(mask, wanted, broken, worth_bits)


def _independent(found: list[Constant]) -> list[Constant]:
    """Masks of which none follows from the others, those that are worth most first."""
    kept: list[Constant] = []
    there: dict[int, int] = {}
    for constant in sorted(found, key=lambda c: (-c.worth_bits, c.mask)):
        if constant.worth_bits < _NEEDED_BITS[min(len(kept), len(_NEEDED_BITS) - 1)]:
            break
        if gf2.take_in(there, constant.mask):
            kept.append(constant)
    return kept


def _obeying(points: NDArray[np.uint64], kept: list[Constant]) -> NDArray[np.bool_]:
    import numpy as np

    good = np.ones(len(points), np.bool_)
    for constant in kept:
        odd = np.bitwise_count(points & np.uint64(constant.mask)) & np.uint8(1)
        good &= odd == constant.wanted
    return good
