"""The exit code of a batch: that of its worst card, by one order."""

from __future__ import annotations

from burnin.core.verdict import EXIT_CODES, RunVerdict
from burnin.record.batches.batch import Batch

NO_WORD = 2
"""Exit code where a card came to no word: its run was not begun, was killed, or hung."""
_WORST_FIRST = (RunVerdict.FAIL, None, RunVerdict.ABORTED, RunVerdict.CONDITIONAL, RunVerdict.PASS)
"""A card at fault, then one of which nothing is known, then a load that a guard ended."""


def exit_code(batch: Batch) -> int:
    """The exit code by the worst of all words."""
    words = {card.word if card.word in EXIT_CODES else None for card in batch.cards}
    worst = next(word for word in _WORST_FIRST if word in words)
    return NO_WORD if worst is None else EXIT_CODES[worst]
