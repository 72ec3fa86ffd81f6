"""Linear algebra over GF(2): vectors and masks are integers, a product is the parity of an and.

Textbook elimination; no source needed.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

_ENUMERATED_RANK = 9
"""Up to this rank every combination of a basis is looked at for light ones."""


def parity(value: int) -> int:
    """1 where an odd number of bits is set."""
    return value.bit_count() & 1


def reduced(vectors: Iterable[int]) -> dict[int, int]:
    """Reduced echelon form of a span: each row by its leading bit, which no other row has."""
    rows: dict[int, int] = {}
    for vector in vectors:
        take_in(rows, vector)
    return rows


def take_in(rows: dict[int, int], vector: int) -> bool:
    """Put a vector into a reduced echelon form; False where it was in the span already."""
    left = rest_of(rows, vector)
    if not left:
        return False
    lead = left.bit_length() - 1
    for other, row in rows.items():
        if row >> lead & 1:
            rows[other] = row ^ left
    rows[lead] = left
    return True


def rest_of(rows: dict[int, int], vector: int) -> int:
    """What a reduced echelon form leaves of a vector: 0 where the vector is in its span."""
    left = vector
    for lead, row in rows.items():
        if left >> lead & 1:
            left ^= row
    return left


def rank(vectors: Iterable[int]) -> int:
    """Dimension of a span."""
    return len(reduced(vectors))


def orthogonal(vectors: Iterable[int], bits: Sequence[int]) -> tuple[int, ...]:
    """A basis of all masks over `bits` whose parity with every vector is even.

    Bits of the vectors outside `bits` count as 0.
    """
    there = sum(1 << bit for bit in bits)
    rows = reduced(vector & there for vector in vectors)
    return tuple(
        1 << free | sum(1 << lead for lead, row in rows.items() if row >> free & 1)
        for free in bits
        if free not in rows
    )


def spans(basis: Iterable[int], vector: int) -> bool:
    """Whether a vector is a combination of `basis`."""
    return rest_of(reduced(basis), vector) == 0


def same_span(first: Iterable[int], second: Iterable[int]) -> bool:
    """Whether two bases span the same."""
    return reduced(first) == reduced(second)


def lightest(basis: Sequence[int]) -> tuple[int, ...]:
    """A basis of the same span with few bits in each mask, lightest first.

    Of a small rank the very lightest; of a large one light to the eye: pairs are combined as long
    as that takes bits away.
    """
    rows = list(reduced(basis).values())
    if len(rows) > _ENUMERATED_RANK:
        return _by_pairs(rows)
    every = [0]
    for row in rows:
        every += [row ^ other for other in every]
    kept: list[int] = []
    there: dict[int, int] = {}
    for mask in sorted(every[1:], key=_weight):
        if take_in(there, mask):
            kept.append(mask)
            if len(kept) == len(rows):
                break
    return tuple(kept)


def _by_pairs(rows: list[int]) -> tuple[int, ...]:
    changed = True
    while changed:
        changed = False
        for place, row in enumerate(rows):
            for at, other in enumerate(rows):
                if at != place and _weight(row ^ other) < _weight(row):
                    row, changed = row ^ other, True
            rows[place] = row
    return tuple(sorted(rows, key=_weight))


def _weight(mask: int) -> tuple[int, int]:
    return mask.bit_count(), mask
