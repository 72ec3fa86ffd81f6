"""The exit code of several cards: that of the worst, by one order."""

from __future__ import annotations

from collections.abc import Set

from burnin.core.verdict import EXIT_CODES, RunVerdict
from burnin.record.batches.batch import Batch

NO_WORD = 2
"""Exit code where a card came to no word: its run was not begun, was killed, or hung."""
_WORST_FIRST = (RunVerdict.FAIL, None, RunVerdict.ABORTED, RunVerdict.CONDITIONAL, RunVerdict.PASS)
"""A card at fault, then one of which nothing is known, then a load that a guard ended."""


def exit_code(batch: Batch) -> int:
    """The exit code by the worst of all words."""
    return worst_of({card.word if card.word in EXIT_CODES else None for card in batch.cards})


def worst_of(words: Set[RunVerdict | None]) -> int:
    """The exit code of the worst of these words; None: a card that came to none."""
    worst = next(word for word in _WORST_FIRST if word in words)
    return NO_WORD if worst is None else EXIT_CODES[worst]
