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
MOST_UNLIKE = 3.0
_MORE_THAN_BITS = 10
_SIDE_BY_SIDE_BIT = 12
_ROUNDS = 60
_ROUNDS_OF_FEW = 120
_FEW = 72
_LOOKED_AT = 8192
_NEEDED_BITS = (5.0, 3.0, 0.0, 3.0, 5.0)
"""What the first, second, … mask must be worth: a card without a remainder has 8 or 16 channels, so
that three masks are likely once there are two; estimate."""
_LEAST_BITS = -12.0
_OF_OTHERS = 1 / 3
"""At most so many break a parity, for each that would by chance: of the topmost bits few would."""
_USUAL_WEIGHT, _HEAVY_BITS = 8, 0.25
"""Few parities join more than so many address bits; what each further one costs; estimate."""
_MASK_BITS = 2.0
"""Cost of one more parity in a rule, besides which it is; estimate."""


@dataclass(frozen=True)
class Constant:
    """A mask whose parity is `wanted` but for the share `broken` of the addresses.

    `gain_bits`: log2 odds against chance; `worth_bits`: less what it costs to have found it.
    """

    mask: int
    wanted: int
    broken: float
    gain_bits: float
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
    kept = _independent([found for found in seen.values() if found], looked, ground)
    if kept:
        clean = looked[_obeying(looked, kept)]
        some = clean if len(clean) <= _FEW * 8 else random.choice(clean, _FEW * 8, replace=False)
        for mask in gf2.lightest(_even_masks(some.tolist(), ground)):
            worth(mask)
    kept = _independent([found for found in seen.values() if found], looked, ground)
    basis = gf2.lightest([constant.mask for constant in kept])
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
    mask: int,
    points: NDArray[np.uint64],
    ground: Ground,
    *,
    known: bool = False,
    looks_only: bool = False,
) -> Constant | None:
    """A mask with what it is worth; None where that is too little and it is not `known`.

    `looks_only`: None only where too many addresses break it.
    """
    import numpy as np

    odd = np.bitwise_count(points & np.uint64(mask)) & np.uint8(1)
    share = float(np.mean(odd))
    wanted = 0 if ground.even else int(share > 0.5)
    broken = share if wanted == 0 else 1.0 - share
    if broken > MOST_STRAYS and not known:
        return None
    by_chance = ground.share(mask, wanted)
    if broken > _OF_OTHERS * (1.0 - by_chance) and not known:
        return None
    # Words side by side below the mask's lowest bit say one thing, not many.
    low = min(_SIDE_BY_SIDE_BIT, (mask & -mask).bit_length() - 1)
    places = len(points) if ground.even else len(np.unique(points >> np.uint64(low)))
    stray = min(0.5, max(LEAST_STRAYS, broken))
    gain = (1.0 - broken) * math.log2((1.0 - stray) / by_chance)
    gain += broken * math.log2(stray / (1.0 - by_chance))
    weight = mask.bit_count()
    cost = math.log2(math.comb(len(ground.bits), min(weight, len(ground.bits)))) + _MASK_BITS
    cost += _HEAVY_BITS * max(0, weight - _USUAL_WEIGHT)
    gain_bits = (places - 1) * gain
    worth_bits = gain_bits - cost
    if worth_bits < _LEAST_BITS and not (known or looks_only):
        return None
    return Constant(mask, wanted, broken, gain_bits, worth_bits)


def _independent(
    found: list[Constant], points: NDArray[np.uint64], ground: Ground
) -> list[Constant]:
    """Masks of which none follows from the others, those that are worth most first.

    The more are known, the fewer are left to choose from: the cost of one more mask is never more
    than the number of bits that are still free.
    """
    kept: list[Constant] = []
    there: dict[int, int] = {}
    for constant in sorted(found, key=lambda c: (-c.worth_bits, c.mask)):
        if kept and constant.broken > MOST_UNLIKE * kept[0].broken + 0.03:
            continue  # strays break every parity of a rule equally often
        free_bits = len(ground.bits) - len(kept) + _MASK_BITS
        worth_bits = max(constant.worth_bits, constant.gain_bits - free_bits)
        if worth_bits < _NEEDED_BITS[min(len(kept), len(_NEEDED_BITS) - 1)]:
            continue
        if gf2.rest_of(there, constant.mask) and _new(constant, kept, points, ground):
            gf2.take_in(there, constant.mask)
            kept.append(constant)
    return kept


def _new(
    constant: Constant, kept: list[Constant], points: NDArray[np.uint64], ground: Ground
) -> bool:
    """Whether a mask holds also for what it adds to each other one: no shadow of a better one.

    A true mask with a topmost bit that is nearly always 0 holds nearly without that bit too.
    """
    return all(
        _constant(constant.mask ^ other.mask, points, ground, looks_only=True) for other in kept
    )


def _obeying(points: NDArray[np.uint64], kept: list[Constant]) -> NDArray[np.bool_]:
    import numpy as np

    good = np.ones(len(points), np.bool_)
    for constant in kept:
        odd = np.bitwise_count(points & np.uint64(constant.mask)) & np.uint8(1)
        good &= odd == constant.wanted
    return good
