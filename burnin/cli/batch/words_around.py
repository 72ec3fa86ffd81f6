"""What is said before a batch begins, and after its last card has ended."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

from burnin.cli.batch.row import card_text, large_word
from burnin.cli.batch.terms import BatchLine
from burnin.cli.terminal.output import quiet_output
from burnin.core.meaning import Meaning
from burnin.record.batches.batch import Batch, CardOfBatch, batch_file
from burnin.report.languages.catalogue import Catalogue


def lines_before(
    batch: Batch, to_do: Sequence[CardOfBatch], words: Catalogue, others: Sequence[Meaning]
) -> list[str]:
    """What is burnt in with what, and what bounds it, before anything begins."""
    count = len(to_do)
    bounds = (
        BatchLine.NO_BUDGET(cards_count=count)
        if batch.budget_w is None
        else BatchLine.BUDGET(budget_w=batch.budget_w, cards_count=count)
    )
    cards = (
        BatchLine.CARD_OF_TICKET(card=name, profile=card.profile, ticket=card.ticket)
        if card.ticket
        else BatchLine.CARD(card=name, profile=card.profile)
        for card in to_do
        for name in (card_text(card, words),)
    )
    return [words.say(line) for line in (bounds, *cards, *others)]


def lines_after(batch: Batch, results: Path, words: Catalogue) -> list[str]:
    """Each card's word with its record, and how a run that has none is gone on with."""
    lines = [""]
    for card in batch.cards:
        word = large_word(card, words, simulated=batch.simulated)
        why = "" if card.why is None else words.say(card.why)
        told = BatchLine.WORD(card=card_text(card, words), word=word, why=why)
        lines.append(words.say(told))
        if not card.record:
            continue
        record = results / card.record
        lines.append("    " + words.say(BatchLine.RECORD(record=str(record))))
    file = batch_file(results, batch.batch_id)
    lines.append(words.say(BatchLine.FILE(file=str(file))))
    if any(card.word is None for card in batch.cards):
        lines.append(words.say(BatchLine.GO_ON(command=f"burnin run --resume {file}")))
    return lines


def print_lines(lines: Sequence[str]) -> None:
    """Print; a reader that is gone ends nothing."""
    try:
        sys.stdout.write("\n".join(lines) + "\n")
        sys.stdout.flush()
    except OSError:
        quiet_output()
