"""Cases of memory: which words failed, with what map and fault behind them.

``words``: ``size_bytes``; ``swept_bytes`` addresses 0 up to this were swept; ``page_bytes`` (null:
addresses are known to follow the memory's own order; else the driver may have laid pages of that
size in any order); ``failing_total`` failures over all passes; ``rows`` at most 3000 of them,
drawn evenly, each [address, expected, got, pattern, pass, memory_c].

``truth``: ``memory_class``; ``sample`` ("300 words", "30 words", "stray"); ``bit`` of a data line;
``rule`` on the words that fail, null for heat, supply and cells:
``masks`` with ``parities`` over the address, or, with ``modulus`` over 1, ``modulus``,
``stripe_bytes``, ``remainder`` and ``masks`` over the address whose stripe number was divided by
the modulus (rest = address // stripe // modulus * stripe + address % stripe). With pages in any
order only masks within a page count: bits above are cut off, masks then empty are left out,
parities and the remainder are null, for they differ from page to page.
"""

from __future__ import annotations

import numpy as np

from tests.others.explained.cases import Case, Fault, JsonDict, Seen, Truth
from tests.others.explained.failing_words import CLASSES, draw_failures
from tests.others.explained.memory_faults import draw_swept
from tests.others.explained.memory_maps import (
    PAGE_BYTES,
    AddressMap,
    Words,
    draw_map,
    draw_pages,
    global_mask,
    parity,
)

Rng = np.random.Generator
SAMPLES = ("300 words", "30 words", "stray")
RULED = ("data line", "address line", "chip or channel", "bank", "row", "column")


def _local_masks(card: AddressMap, name: str, row_bit: int) -> list[int]:
    """What a fault's class fixes within the chip."""
    if name == "address line":
        return [1 << row_bit]
    masks = list(card.bank_masks) if name in ("bank", "row", "column") else []
    if name == "row":
        masks += [1 << bit for bit in card.row_bits]
    if name == "column":
        masks += [1 << bit for bit in card.column_bits]
    return masks


def rule_of(card: AddressMap, name: str, at: int, row_bit: int, shuffled: bool) -> JsonDict | None:
    """The rule on addresses for the fault at byte address `at`."""
    if name not in RULED:
        return None
    rest = at // card.stripe_bytes // card.modulus * card.stripe_bytes + at % card.stripe_bytes
    local = [global_mask(card, mask) for mask in _local_masks(card, name, row_bit)]
    masks = [*card.channel_masks, *local]
    one: Words = np.array([rest], dtype=np.uint64)
    parities: list[int] | None = [int(parity(one, mask)[0]) for mask in masks]
    remainder: int | None = at // card.stripe_bytes % card.modulus
    if shuffled:
        # A page's stripes are no multiple of the modulus: what remains of division shifts with it.
        within = PAGE_BYTES - 1 if card.modulus == 1 else card.stripe_bytes - 1
        masks = [mask & within for mask in masks if mask & within]
        parities = remainder = None
    rule: JsonDict = {"masks": masks, "parities": parities}
    if card.modulus > 1:
        rule |= {"modulus": card.modulus, "remainder": remainder}
        rule["stripe_bytes"] = card.stripe_bytes
    return rule


def draw_memory_case(rng: Rng) -> Case:
    """One case; memory without failing words has nothing to explain and is not drawn."""
    card = draw_map(rng)
    swept = draw_swept(rng)
    sample = SAMPLES[int(rng.integers(3))]
    name = CLASSES[int(rng.integers(len(CLASSES)))]
    shuffled = bool(rng.random() < 0.3)
    pages = draw_pages(card.size_bytes, rng) if shuffled else None
    share = float(rng.choice([1.0, 0.95, rng.uniform(0.6, 0.95)]))
    swept_bytes = int(card.size_bytes * share) // PAGE_BYTES * PAGE_BYTES
    count = 30 if sample == "30 words" else int(rng.integers(300, 2901))
    found = draw_failures(card, swept, name, count, swept_bytes, pages, sample == "stray", rng)
    words = {
        "size_bytes": card.size_bytes,
        "swept_bytes": swept_bytes,
        "page_bytes": PAGE_BYTES if shuffled or rng.random() < 0.15 else None,
        "failing_total": found.total,
        "rows": found.rows,
    }
    details = {
        "memory_class": name,
        "rule": rule_of(card, name, found.at, found.row_bit, shuffled),
        "bit": found.bit,
        "sample": sample,
        "pages_shuffled": shuffled,
        "chips": card.chips,
    }
    truth = Truth(Fault("memory", effect=name), None, (), True, details)
    return Case("memory", None, Seen(words=words), truth)
