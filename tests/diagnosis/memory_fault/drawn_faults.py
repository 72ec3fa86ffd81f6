"""Invented faults of drawn cards: which words fail, and what is read instead."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from burnin.diagnosis.memory_fault.answer import FaultClass
from burnin.engine.device.passes import PassKind
from burnin.engine.device.patterns import FAMILIES, passes
from burnin.engine.device.patterns import recipe as recipe_of
from burnin.engine.device.recipes import words_of
from tests.diagnosis.memory_fault.drawn_maps import DrawnMap, Words

NAMES = tuple(FAMILIES)
CHECKS = tuple(
    (NAMES.index(name), what.expect)
    for name in NAMES
    for what in passes(name)
    if what.kind in (PassKind.CHECK, PassKind.CHECK_THEN_WRITE) and what.expect >= 0
)
HEAVY = ("pseudo_random", "checkerboard", "hammer", "moving_inversions")
U32 = NDArray[np.uint32]


@dataclass(frozen=True)
class Made:
    """Words of a fault before strays; `masks`: the true ones, None where there are none."""

    at: Words
    expected: U32
    got: U32
    pattern: NDArray[np.int64]
    masks: tuple[int, ...] | None
    hot: bool = False
    ordered: bool = False
    whole: float = 1.0

    def only(self, kept: NDArray[np.intp]) -> Made:
        columns = (self.at[kept], self.expected[kept], self.got[kept], self.pattern[kept])
        return Made(*columns, self.masks, self.hot, self.ordered, self.whole)


class DrawnFault:
    """Draws faults of one card; about `count` words of each are wanted."""

    def __init__(self, card: DrawnMap, random: np.random.Generator, count: int) -> None:
        self.card, self.random, self.count = card, random, count
        self.seed = int(random.integers(1, 1000))
        self.channel = int(random.integers(1 << len(card.channel)))
        self.rest = int(random.integers(card.modulus))
        self.bank = int(random.integers(1 << len(card.bank)))

    def of(self, fault: FaultClass) -> Made:
        return {
            FaultClass.DATA_LINE: self.data_line,
            FaultClass.ADDRESS_LINE: self.address_line,
            FaultClass.CHIP: self.chip,
            FaultClass.BANK: self.bank_fails,
            FaultClass.ROW: self.row,
            FaultClass.COLUMN: self.column,
            FaultClass.HEAT: self.heat,
            FaultClass.SUPPLY: self.supply,
            FaultClass.CELLS: self.cells,
        }[fault]()

    # where ---------------------------------------------------------------------------------

    def local(self, end: int | None = None) -> Words:
        many = self.count * 12 + 200
        size = end or self.card.swept_bytes // self.card.modulus
        found = self.random.integers(0, size // 4, many)
        return found.astype(np.uint64) * np.uint64(4)

    def in_channel(self, local: Words) -> Words:
        return self.inside(self.card.place(local, self.channel, self.card.channel, self.rest))

    def in_bank(self, local: Words) -> Words:
        masks = (*self.card.channel, *self.card.bank)
        wanted = self.channel | self.bank << len(self.card.channel)
        return self.inside(self.card.place(local, wanted, masks, self.rest))

    def inside(self, at: Words) -> Words:
        return at[at < self.card.swept_bytes]

    def fixed(self, local: Words, bits: tuple[int, ...]) -> Words:
        value = int(self.random.choice(local)) * 15 // 16
        mask = sum(1 << b for b in bits)
        return local & np.uint64(~mask & (1 << 63) - 1) | np.uint64(value & mask)

    def listed_first(self, channel_like: Words) -> tuple[Words, bool]:
        """Sometimes only the first failing words are listed."""
        if len(self.card.order) or self.random.random() > 0.2:
            return channel_like, False
        end = self.count * 4 << len(self.card.channel)
        end = max(end * 4, 1 << 20)
        return self.in_channel(self.local(end // self.card.modulus)), True

    # what ----------------------------------------------------------------------------------

    def checks(self, many: int, names: tuple[str, ...] = ()) -> NDArray[np.int64]:
        allowed = [n for n, (p, _) in enumerate(CHECKS) if not names or NAMES[p] in names]
        return self.random.choice(np.array(allowed), many)

    def expected(self, at: Words, checks: NDArray[np.int64]) -> U32:
        found = np.zeros(len(at), np.uint32)
        for check in np.unique(checks):
            pattern, step = CHECKS[check]
            of = checks == check
            rule = recipe_of(NAMES[pattern], step, self.seed)
            found[of] = words_of(rule, at[of] // np.uint64(4))
        return found

    def made(
        self,
        physical: Words,
        got: str,
        masks: tuple[int, ...] | None,
        names: tuple[str, ...] = (),
        **more: bool | float,
    ) -> Made:
        at = self.card.seen(physical)
        checks = self.checks(len(at), names)
        expected = self.expected(at, checks)
        read = self.read(expected, got)
        wrong = np.flatnonzero(read != expected)
        pattern = np.array([p for p, _ in CHECKS])[checks]
        return Made(at, expected, read, pattern, masks, **more).only(wrong)  # type: ignore[arg-type]

    def read(self, expected: U32, got: str) -> U32:
        random, many = self.random, len(expected)
        bit = np.uint32(1 << int(random.integers(32)))
        if got == "stuck":
            return expected | bit if random.random() < 0.5 else expected & ~bit
        if got == "sometimes":
            return expected ^ np.where(random.random(many) < 0.6, bit, np.uint32(0))
        if got == "rest":
            return np.full(many, random.choice([0, 0xFFFF_FFFF]), np.uint32)
        if got == "same":
            return np.full(many, random.integers(1 << 32), np.uint32)
        if got == "noise":
            return random.integers(0, 1 << 32, many, dtype=np.uint32)
        if got == "few":
            bits = random.choice(32, int(random.integers(2, 5)), replace=False)
            mask = np.uint32(sum(1 << int(b) for b in bits))
            return expected ^ (random.integers(0, 1 << 32, many, dtype=np.uint32) & mask)
        if got == "byte":
            shift = np.uint32(8 * int(random.integers(4)))
            return expected ^ (random.integers(1, 256, many).astype(np.uint32) << shift)
        if got == "single":
            return expected ^ (np.uint32(1) << random.integers(0, 32, many).astype(np.uint32))
        several = random.integers(0, 1 << 32, many, dtype=np.uint32)
        return expected ^ (several & random.integers(0, 1 << 32, many, dtype=np.uint32))

    # faults --------------------------------------------------------------------------------

    def data_line(self) -> Made:
        at, first = self.listed_first(self.in_channel(self.local()))
        got = str(self.random.choice(["stuck", "stuck", "sometimes"]))
        hot = bool(self.random.random() < 0.15)
        return self.made(at, got, self.card.channel, hot=hot, ordered=first)

    def chip(self) -> Made:
        at, first = self.listed_first(self.in_channel(self.local()))
        got = str(self.random.choice(["rest", "rest", "same", "noise"]))
        return self.made(at, got, self.card.channel, ordered=first)

    def bank_fails(self) -> Made:
        got = str(self.random.choice(["noise", "several", "rest", "few"]))
        masks = (*self.card.channel, *self.card.bank)
        return self.made(self.in_bank(self.local()), got, masks)

    def row(self) -> Made:
        local = self.fixed(self.local(), self.card.fields.row)
        got = str(self.random.choice(["noise", "several", "byte", "few", "rest"]))
        return self.made(self.in_bank(local), got, None, whole=0.0)

    def column(self) -> Made:
        card = self.card
        burst = int(self.random.choice([2, 5]))
        column = tuple(b for b in card.fields.column if b >= burst)
        at = self.in_bank(self.fixed(self.local(), column))
        got = str(self.random.choice(["stuck", "sometimes", "stuck", "few", "byte"]))
        masks = (*card.channel, *card.bank, *(1 << b for b in column))
        return self.made(at, got, masks)

    def heat(self) -> Made:
        at = self.inside(self.local(self.card.swept_bytes))
        if self.random.random() < 0.3:
            at = self.random.choice(at[: max(20, self.count // 2)], len(at))
        names = HEAVY if self.random.random() < 0.1 else ()
        return self.made(at, "single", None, names, hot=True)

    def supply(self) -> Made:
        at = self.inside(self.local(self.card.swept_bytes))
        names = HEAVY if self.random.random() < 0.8 else ()
        got = str(self.random.choice(["several", "noise", "several"]))
        hot = bool(self.random.random() < 0.2)
        return self.made(at, got, None, names, hot=hot)

    def cells(self) -> Made:
        several = int(self.random.integers(1, 1 + min(12, max(2, self.count // 8))))
        places = self.inside(self.local(self.card.swept_bytes))[:several]
        number = self.random.integers(0, len(places), self.count * 6 + 60)
        at = places[number]
        made = self.made(at, "noise", None)
        bits = np.uint32(1) << self.random.integers(0, 32, len(places)).astype(np.uint32)
        place = np.searchsorted(np.sort(self.card.seen(places)), made.at)
        ones = self.random.random(len(places)) < 0.5
        got = np.where(ones[place], made.expected | bits[place], made.expected & ~bits[place])
        wrong = np.flatnonzero(got != made.expected)
        return Made(made.at, made.expected, got, made.pattern, None).only(wrong)

    def address_line(self) -> Made:
        card, random = self.card, self.random
        choice = (*card.fields.row[:-1], *card.fields.column[2:])
        line = 1 << int(random.choice(choice))
        local = self.local()
        ones = bool(random.random() < 0.5)
        local = local | np.uint64(line) if ones else local & np.uint64(~line & (1 << 63) - 1)
        banks = card.bank
        at, other = (
            card.place(way, self.channel, card.channel, self.rest)
            for way in (local, local ^ np.uint64(line))
        )
        # The same bank on both sides: where the line goes into a bank's hash, its base follows.
        for mask in banks:
            if mask & line and card.modulus == 1:
                other = other ^ np.uint64(mask & -mask)
        good = (at < card.swept_bytes) & (other < card.swept_bytes)
        at, other = card.seen(at[good]), card.seen(other[good])
        names = ("own_address", "pseudo_random", "own_address", "pseudo_random", "walking_bits")
        checks = self.checks(len(at), names)
        expected, got = self.expected(at, checks), self.expected(other, checks)
        wrong = np.flatnonzero(expected != got)
        pattern = np.array([p for p, _ in CHECKS])[checks]
        masks = (*card.channel, line)
        return Made(at, expected, got, pattern, masks).only(wrong)
