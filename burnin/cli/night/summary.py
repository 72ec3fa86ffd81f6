"""The summary of a night: each card of the queue with its word, or why it has none."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from burnin.cli.batch.row import large_word
from burnin.cli.night.due import Looked, Standing
from burnin.cli.night.queue_file import QueuedCard
from burnin.cli.night.terms import NightLine
from burnin.core.clock import iso
from burnin.core.verdict import EXIT_CODES, RunVerdict
from burnin.report.languages.catalogue import Catalogue
from burnin.run.batch.worst import worst_of

Refused = Mapping[QueuedCard, str]
"""Cards of the queue that could not be begun, and why."""


def name_of(queued: QueuedCard, words: Catalogue) -> str:
    """A card as it was queued."""
    if not queued.ticket:
        return queued.card
    ticket = words.say(NightLine.TICKET(ticket=queued.ticket))
    return f"{ticket} ({queued.card})" if queued.card else ticket


def summary(
    seen: Sequence[Looked], refused: Refused, results: Path, words: Catalogue, *, simulated: bool
) -> list[str]:
    """A line a card, with its record below, and how many have a word."""
    lines = []
    for one in seen:
        card, last = name_of(one.queued, words), one.last
        if last is not None:
            why = "" if last.why is None else words.say(last.why)
            word = large_word(last, words, simulated=simulated)
            lines.append(words.say(NightLine.WORD(card=card, word=word, why=why)))
            if last.record:
                record = str(results / last.record)
                lines.append("    " + words.say(NightLine.RECORD(record=record)))
        if one.queued in refused:
            told = NightLine.REFUSED(card=card, words=refused[one.queued])
            lines.append(words.say(told))
        elif one.standing is Standing.LATER and one.from_utc is not None:
            lines.append(words.say(NightLine.OWED_LATER(card=card, from_utc=iso(one.from_utc))))
        elif one.standing is Standing.NOT_THERE:
            lines.append(words.say(NightLine.NOT_THERE(card=card)))
        elif one.standing is Standing.NOW:
            lines.append(words.say(NightLine.NOT_REACHED(card=card)))
        elif last is None:
            lines.append(words.say(NightLine.NOTHING_OWED(card=card)))
    done = sum(one.last is not None and one.last.word is not None for one in seen)
    return [*lines, words.say(NightLine.MORNING(cards_count=len(seen), done_count=done))]


def night_code(seen: Sequence[Looked], refused: Refused) -> int:
    """The exit code by the worst word; a card that was to be burnt in and was not has none."""
    words: set[RunVerdict | None] = set()
    for one in seen:
        open_still = one.standing in (Standing.NOW, Standing.NOT_THERE)
        if one.last is not None:
            words.add(one.last.word if one.last.word in EXIT_CODES else None)
        if one.queued in refused or open_still:
            words.add(None)
        elif one.standing is Standing.LATER:
            words.add(RunVerdict.CONDITIONAL)
    return worst_of(words or {RunVerdict.PASS})
