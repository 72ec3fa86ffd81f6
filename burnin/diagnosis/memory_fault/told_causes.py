"""The answer's classes as typed causes with their places, and the rule on addresses in terms."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from burnin.core.meaning import Cause, Term
from burnin.diagnosis.meanings import DiagnosisTerm
from burnin.diagnosis.memory_fault.answer import AddressRule, FaultClass, MemoryAnswer
from burnin.diagnosis.memory_fault.meanings import MemoryCause, MemoryTerm

TOLD_FROM = 0.02
"""Classes less probable than this are not told."""


def causes_of(
    answer: MemoryAnswer, chips: Sequence[str] = ()
) -> tuple[tuple[Cause, float], ...]:
    """Causes with their probabilities, most probable first; `chips` are names of a board file."""
    return tuple(
        (_cause(chance.fault, answer, chips), chance.probability)
        for chance in answer.chances
        if chance.probability >= TOLD_FROM
    )


def rule_terms(rule: AddressRule) -> tuple[Term, ...]:
    """The rule on addresses, one term a part; all parts hold for a failing word."""
    return tuple(_rule_terms(rule))


def _rule_terms(rule: AddressRule) -> Iterator[Term]:
    told = rule.remainder
    if told is not None and told.remainder is None:
        yield MemoryTerm.REMAINDER_OF_PAGE(stripe_bytes=told.stripe_bytes, modulus=told.modulus)
    elif told is not None:
        yield MemoryTerm.REMAINDER(
            stripe_bytes=told.stripe_bytes, modulus=told.modulus, remainder=told.remainder
        )
    inside = told is not None and told.remainder is not None
    parity = MemoryTerm.PARITY_INSIDE if inside else MemoryTerm.PARITY
    for part in rule.parities:
        yield parity(bits=part.bits, wanted=part.wanted)
    known = {part.mask for part in rule.parities}
    for mask in rule.within_pages:
        if mask not in known:
            yield MemoryTerm.PARITY_OF_PAGE(bits=_bits(mask))
    if rule.window_bytes:
        first, last = rule.window_bytes
        yield MemoryTerm.WINDOW(first_bytes=first, last_bytes=last)


def _cause(fault: FaultClass, answer: MemoryAnswer, chips: Sequence[str]) -> Cause:
    where = _where(answer.rule, chips)
    warm = DiagnosisTerm.ONCE_WARM() if answer.warm else None
    if fault is FaultClass.DATA_LINE:
        return MemoryCause.DATA_LINE(bits=answer.affected_bits, where=where, warm=warm)
    if fault is FaultClass.ADDRESS_LINE:
        masks = tuple(MemoryTerm.BITS(bits=_bits(mask)) for mask in answer.alias_masks)
        told = masks or (MemoryTerm.NO_MASK(),)
        return MemoryCause.ADDRESS_LINE(masks=told, where=where, warm=warm)
    if fault is FaultClass.ROW:
        first = answer.first_address_bytes
        return MemoryCause.ROW(first_bytes=first, where=where, warm=warm)
    if fault is FaultClass.CELLS:
        return MemoryCause.CELLS(places_count=answer.places, where=where, warm=warm)
    if fault is FaultClass.HEAT:
        return MemoryCause.HEAT(where=where)
    if fault is FaultClass.ELSE:
        return MemoryCause.ELSE()
    plain = {
        FaultClass.CHIP: MemoryCause.CHIP,
        FaultClass.BANK: MemoryCause.BANK,
        FaultClass.COLUMN: MemoryCause.COLUMN,
        FaultClass.SUPPLY: MemoryCause.SUPPLY,
    }
    return plain[fault](where=where, warm=warm)


def _where(rule: AddressRule, chips: Sequence[str]) -> Term:
    if chips:
        return MemoryTerm.NAMED_CHIP(chip=" / ".join(chips))
    if rule.one_of > 1:
        return MemoryTerm.ONE_OF(parts_count=rule.one_of)
    return MemoryTerm.ANYWHERE()


def _bits(mask: int) -> tuple[int, ...]:
    return tuple(n for n in range(mask.bit_length()) if mask >> n & 1)
