"""Failing words of invented faults, drawn at random, with the truth: class and rule."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from burnin.diagnosis.memory_fault import gf2
from burnin.diagnosis.memory_fault.address_rule import obeying
from burnin.diagnosis.memory_fault.answer import FaultClass, MemoryAnswer
from burnin.diagnosis.memory_fault.failing_words import FailingWords
from tests.diagnosis.memory_fault.drawn_faults import CHECKS, NAMES, DrawnFault, Made
from tests.diagnosis.memory_fault.drawn_maps import (
    PAGE_BYTES,
    DrawnMap,
    Words,
    below,
    drawn_map,
    only_below,
)

ALL = tuple(fault for fault in FaultClass if fault is not FaultClass.ELSE)


@dataclass(frozen=True)
class Case:
    """A fault with its words; `masks` None: the rule cannot be known or there is none."""

    fault: FaultClass
    words: FailingWords
    map: DrawnMap
    masks: tuple[int, ...] | None
    permuted: bool
    ordered: bool
    all_below: tuple[int, ...]
    others: Words

    def rule_is_right(self, answer: MemoryAnswer) -> bool | None:
        """Whether the answer's rule is the true one; None where nobody can know it."""
        if self.masks is None:
            return None
        rule, modulus = answer.rule, self.map.modulus
        if self.permuted:
            if modulus > 1:
                same = (self.map.stripe_bytes, modulus)
                told = rule.remainder
                return told is not None and (told.stripe_bytes, told.modulus) == same
            found = rule.within_pages or tuple(p.mask for p in rule.parities)
            return gf2.same_span(found, self.masks) or gf2.same_span(found, self.all_below)
        if modulus == 1:
            return gf2.same_span((p.mask for p in rule.parities), self.masks)
        # As many parts, and every true word in the one that is told: then it is the same part.
        parts = modulus << len(self.masks)
        return rule.one_of == parts and bool(obeying(self.others, rule).all())


def drawn_case(
    seed: int, count: int, strays: float = 0.0, fault: FaultClass | None = None
) -> Case:
    """A case of about `count` listed words, a share `strays` of them upsets elsewhere."""
    random = np.random.default_rng(seed)
    card = drawn_map(random)
    fault = fault or ALL[int(random.integers(len(ALL)))]
    draw = _List(card, random, count)
    made = draw.of(fault)
    order = random.permutation(len(made.at))[:count]
    return draw.case(fault, made.only(order), strays, made.at)


class _List(DrawnFault):
    """Lists the words of a fault, strays among them, with temperatures."""

    def temperatures(self, many: int, hot: bool) -> NDArray[np.float64]:
        random = self.random
        if random.random() < 0.3:
            return np.full(many, np.nan)
        top = float(random.uniform(84, 102))
        low = float(random.uniform(78, top - 3)) if hot else float(random.uniform(40, 62))
        high = top if hot or random.random() < 0.5 else low + 15.0
        return np.round(random.uniform(low, high, many))

    def case(self, fault: FaultClass, made: Made, strays: float, others: Words
    ) -> Case:
        card, random = self.card, self.random
        many = round(strays * len(made.at))
        end = int(made.at.max()) + 4 if made.ordered else card.swept_bytes
        at = (random.integers(0, end // 4, many) * 4).astype(np.uint64)
        checks = self.checks(many)
        expected = self.expected(at, checks)
        upsets = self.read(expected, "single")
        order = random.permutation(len(made.at) + many)

        def both(a: NDArray[np.generic], b: NDArray[np.generic]) -> NDArray[np.generic]:
            return np.concatenate([a, b])[order]

        temps = np.concatenate(
            [self.temperatures(len(made.at), made.hot), self.temperatures(many, False)]
        )[order]
        listed = len(order)
        wide = fault in (FaultClass.DATA_LINE, FaultClass.CHIP, FaultClass.ADDRESS_LINE)
        total = listed
        if made.ordered or (wide and random.random() < 0.6):
            total = card.swept_bytes // 4 // (card.modulus << len(card.channel)) * 20
        known = PAGE_BYTES if len(card.order) and random.random() < 0.5 else None
        words = FailingWords(
            both(made.at, at).astype(np.uint64),
            both(made.expected, expected).astype(np.uint32),
            both(made.got, upsets).astype(np.uint32),
            both(made.pattern, np.array([p for p, _ in CHECKS])[checks]).astype(np.uint8),
            NAMES,
            np.zeros(listed, np.uint16),
            temps,
            card.swept_bytes,
            total,
            known,
        )
        return Case(
            fault,
            words,
            card,
            self.knowable(made, words),
            bool(len(card.order)),
            made.ordered,
            below(made.masks or (), 21),
            others,
        )

    def knowable(self, made: Made, words: FailingWords) -> tuple[int, ...] | None:
        """What of the true masks these words can tell."""
        if made.masks is None:
            return None
        masks = made.masks
        different = np.unique(words.address_bytes)
        if made.ordered:
            last_bit = int(different[-1]).bit_length()
            return below(masks, last_bit) if self.card.modulus == 1 else masks
        if not len(self.card.order):
            bits = self.card.local_bits
            return masks if len(different) >= bits - len(masks) - 1 else None
        _, counts = np.unique(different // np.uint64(PAGE_BYTES), return_counts=True)
        if int((counts - 1).sum()) < 40:
            return only_below(masks, 21) if self.card.modulus == 1 else None
        return below(masks, 21)
