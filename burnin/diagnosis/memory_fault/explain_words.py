"""Explains failing words: class of fault, rule on addresses, affected bits, what stays unknown."""

from __future__ import annotations

from typing import TYPE_CHECKING

from burnin.core.meaning import Note
from burnin.diagnosis.memory_fault.answer import FaultClass, MemoryAnswer
from burnin.diagnosis.memory_fault.beliefs import chances
from burnin.diagnosis.memory_fault.failing_words import FailingWords
from burnin.diagnosis.memory_fault.meanings import MemoryUnknown
from burnin.diagnosis.memory_fault.reach import Reach, Reached, reached
from burnin.diagnosis.memory_fault.word_looks import Warmth, WordLooks, core_of, looks_of

if TYPE_CHECKING:
    pass

_MANY_LEFT = 0.08
_LEAST_LEFT = 12
_FEW_PLACES = 24
_SCATTERS = (FaultClass.HEAT, FaultClass.SUPPLY, FaultClass.CELLS, FaultClass.ELSE)


def explain_words(words: FailingWords) -> MemoryAnswer:
    """What explains the majority of failing words; raises ValueError where there is none."""
    if not len(words):
        raise ValueError("no failing word, nothing to explain")
    return _explained(words, again=True)


def _explained(words: FailingWords, *, again: bool) -> MemoryAnswer:
    import numpy as np

    core = core_of(words)
    place = reached(words, core)
    if place.reach in (Reach.SCATTERED, Reach.UNTOLD) and not core.all():
        # One sign shared by most words is no rule by itself: all of them scatter.
        core = np.ones(len(words), np.bool_)
        place = reached(words, core)
    held = place.holds if place.holds.any() else core
    explained = words.only(held)
    looks = looks_of(explained)
    classes = tuple(chances(place.reach, looks))
    fault = classes[0].fault
    if fault in _SCATTERS and fault is not FaultClass.CELLS:
        held = np.ones(len(words), np.bool_)
    left_over = len(words) - int(held.sum())
    many = left_over >= max(_LEAST_LEFT, _MANY_LEFT * len(words))
    left = _explained(words.only(~held), again=False) if again and many else None
    places = len(np.unique(explained.address_bytes))
    return MemoryAnswer(
        chances=classes,
        rule=place.rule,
        affected_bits=looks.bits,
        alias_masks=looks.alias_masks,
        warm=None if looks.warmth is Warmth.UNKNOWN else looks.warmth is Warmth.WARM_ONLY,
        explained=int(held.sum()),
        left_over=left_over,
        places=places,
        first_address_bytes=int(explained.address_bytes.min()),
        unknown=_unknown(words, place, looks, places, left_over),
        left=left,
    )


def _unknown(
    words: FailingWords, place: Reached, looks: WordLooks, places: int, left_over: int
) -> tuple[Note, ...]:
    found: list[Note] = []
    rule = place.rule
    page_bytes = rule.page_bytes or words.page_bytes
    if page_bytes is not None:
        found.append(MemoryUnknown.PAGES(page_bytes=page_bytes))
    if place.high_bits_from is not None:
        found.append(MemoryUnknown.HIGH_BITS(from_bit=place.high_bits_from))
    if place.reach not in (Reach.WINDOW, Reach.PLACES):
        if places < _FEW_PLACES:
            found.append(MemoryUnknown.FEW_WORDS(places_count=places))
        if place.reach in (Reach.SCATTERED, Reach.UNTOLD):
            found.append(MemoryUnknown.NO_RULE())
    if looks.warmth is Warmth.UNKNOWN:
        found.append(MemoryUnknown.TEMPERATURE())
    if left_over:
        found.append(MemoryUnknown.LEFT_OVER(words_count=left_over))
    return tuple(found)
