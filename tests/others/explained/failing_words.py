"""The rows of words that fail, drawn evenly from all that failed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tests.others.explained.memory_faults import (
    MASK,
    Swept,
    aliased,
    chosen_locals,
    stuck,
    upset,
)
from tests.others.explained.memory_maps import PAGE_BYTES, AddressMap, Words

Rng = np.random.Generator
CLASSES = (
    "data line", "address line", "chip or channel", "bank", "row", "column", "heat", "supply",
    "cells",
)  # fmt: skip
Passes = NDArray[np.int64]


@dataclass(frozen=True)
class Failures:
    """Rows, how many failed in all, and the fault: a byte address of its own, line, bit."""

    rows: list[list[object]]
    total: int
    at: int
    row_bit: int
    bit: int | None


@dataclass(frozen=True)
class _Drawn:
    address: Words
    passes: Passes
    expected: Words
    got: Words


def _to_memory(address: Words, pages: Passes | None) -> Words:
    if pages is None:
        return address
    page = np.uint64(PAGE_BYTES)
    found: Words = pages[(address // page).astype(np.int64)].astype(np.uint64)
    return found * page + address % page


def _from_memory(address: Words, pages: Passes | None) -> Words:
    return address if pages is None else _to_memory(address, np.argsort(pages))


def _random_words(count: int, swept_bytes: int, rng: Rng) -> Words:
    return rng.integers(0, swept_bytes // 4, count, dtype=np.uint64) * np.uint64(4)


def _scattered(swept: Swept, name: str, count: int, swept_bytes: int, rng: Rng) -> _Drawn:
    """Heat (weak cells, more of them the hotter), supply (heavy patterns), cells (few, again)."""
    numbers = np.arange(len(swept.patterns))
    warmth = np.array(swept.memory_c)
    if name == "supply":
        heavy = np.array([p in ("hammer", "checker", "random") for p in swept.patterns])
        weights = np.where(heavy, 1.0, 0.03) * np.array(
            [3.0 if p == "hammer" else 1.0 for p in swept.patterns]
        )
        passes = rng.choice(numbers, count, p=weights / weights.sum())
        address = _random_words(count, swept_bytes, rng)
        expected = swept.expected(address, passes)
        wide = rng.integers(0, 1 << 32, count, dtype=np.uint64)
        wide &= rng.integers(0, 1 << 32, count, dtype=np.uint64)
        return _Drawn(address, passes, expected, expected ^ np.maximum(wide, np.uint64(1)))
    cells = int(rng.integers(1, 21)) if name == "cells" else int(rng.integers(200, 20_000))
    places = _random_words(cells, swept_bytes, rng)
    bits = rng.integers(0, 32, cells)
    values = rng.integers(0, 2, cells)
    from_c = np.full(cells, -100.0)
    if name == "heat":
        from_c = np.quantile(warmth, 0.45) + rng.gamma(2.0, 0.12 * np.ptp(warmth), cells)
        from_c = np.minimum(from_c, warmth.max() - 0.5)
    cell, passes = (
        np.repeat(np.arange(cells), len(numbers)),
        np.tile(numbers, cells),
    )
    address, expected = places[cell], swept.expected(places[cell], passes)
    turned = upset(expected, bits[cell])
    shows = ((expected >> bits[cell].astype(np.uint64)) & np.uint64(1)) != values[cell]
    works = shows & (warmth[passes] >= from_c[cell]) & (rng.random(cell.size) < 0.9)
    order = rng.permutation(np.flatnonzero(works))
    return _Drawn(address[order], passes[order], expected[order], turned[order])


def _placed(
    card: AddressMap, swept: Swept, name: str, swept_bytes: int, pages: Passes | None,
    fault: tuple[int, int, int, int], count: int, rng: Rng,
) -> _Drawn:  # fmt: skip
    """Words of one place in one chip, over all passes."""
    at, row_bit, bit, value = fault
    chip, local_at = card.split(np.array([at], dtype=np.uint64))
    local = chosen_locals(card, name, 6 * count + 400, int(local_at[0]), rng)
    chips = np.full(local.shape, chip[0], dtype=np.uint64)
    inside = card.join(chips, local)
    address = _from_memory(inside, pages)
    passes = rng.integers(0, len(swept.patterns), address.size)
    expected = swept.expected(address, passes)
    if name == "data line":
        got = stuck(expected, 1 << bit, value)
    elif name == "address line":
        other = _from_memory(aliased(card, chips, local, row_bit), pages)
        got = swept.expected(other, passes)
        # Both are written to one cell: the word that was written last stays, its twin fails.
        earlier = (other > address) == bool(value)
        sound = ~earlier | (other >= np.uint64(swept_bytes))
        got[sound] = expected[sound]
    elif name == "column":
        lines = np.uint64(0xFF << (bit // 8 * 8))
        got = expected ^ (rng.integers(1, 1 << 32, address.size, dtype=np.uint64) & lines)
    elif value:
        got = rng.integers(0, 1 << 32, address.size, dtype=np.uint64) & MASK
    else:
        got = stuck(expected, 0xFFFFFFFF, bit & 1)
    keep = np.flatnonzero((address < np.uint64(swept_bytes)) & (got != expected))
    key = address[keep] * np.uint64(16) + passes[keep].astype(np.uint64)
    _, first = np.unique(key, return_index=True)
    keep = keep[rng.permutation(first)]
    return _Drawn(address[keep], passes[keep], expected[keep], got[keep])


def _strays(swept: Swept, count: int, swept_bytes: int, rng: Rng) -> _Drawn:
    address = _random_words(count, swept_bytes, rng)
    passes = rng.integers(0, len(swept.patterns), count)
    expected = swept.expected(address, passes)
    return _Drawn(address, passes, expected, upset(expected, rng.integers(0, 32, count)))


def _total(card: AddressMap, name: str, swept: Swept, shown: int) -> int:
    """About how many failed over all passes."""
    words = card.chip_bytes // 4
    share = {
        "data line": 0.5, "address line": 0.2, "chip or channel": 1.0, "bank": 1 / 16,
        "column": (1 << len(card.row_bits)) / words,
    }.get(name)  # fmt: skip
    return shown if share is None else max(shown, int(words * share * len(swept.patterns)))


def draw_failures(
    card: AddressMap, swept: Swept, name: str, count: int, swept_bytes: int,
    pages: Passes | None, stray: bool, rng: Rng,
) -> Failures:  # fmt: skip
    """At most `count` rows, in order of pass and address; fewer where fewer failed."""
    fault = (0, 0, 0, 0)
    if name in ("heat", "supply", "cells"):
        drawn = _scattered(swept, name, max(count, 60), swept_bytes, rng)
    else:
        seen_at = _random_words(1, swept_bytes, rng)
        at = int(_to_memory(seen_at, pages)[0])
        row_bit = int(rng.choice(card.row_bits))
        fault = (at, row_bit, int(rng.integers(32)), int(rng.integers(2)))
        drawn = _placed(card, swept, name, swept_bytes, pages, fault, count, rng)
        at = int(_to_memory(drawn.address[:1], pages)[0]) if drawn.address.size else at
        fault = (at, *fault[1:])
    picked = np.arange(min(count, drawn.address.size))
    kept = _Drawn(*(getattr(drawn, part)[picked] for part in _Drawn.__dataclass_fields__))
    total = _total(card, name, swept, drawn.address.size)
    if stray:
        extra = _strays(swept, max(1, int(picked.size * rng.uniform(0.01, 0.03))), swept_bytes, rng)
        kept = _Drawn(
            *(
                np.concatenate([getattr(kept, part), getattr(extra, part)])
                for part in _Drawn.__dataclass_fields__
            )
        )
        total += extra.address.size
    order = np.lexsort((kept.address, kept.passes))[:3000]
    rows: list[list[object]] = [
        [
            int(kept.address[n]), int(kept.expected[n]), int(kept.got[n]),
            swept.patterns[kept.passes[n]], int(kept.passes[n]), swept.memory_c[kept.passes[n]],
        ]
        for n in order
    ]  # fmt: skip
    return Failures(rows, total, fault[0], fault[1], fault[2] if name == "data line" else None)
