"""The customer's lines on checks: title, what it asks, what it showed, how it came out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from burnin.core.reading import Reading, Verdict
from burnin.core.verdict import StageVerdict
from burnin.record.reader import Record
from burnin.report.languages.catalogue import ORIGINAL, Catalogue
from burnin.report.languages.one_line import one_line
from burnin.report.sheet.marks import STAGE_SHAPES, Mark
from burnin.report.sheet.run_stages import RunStage
from burnin.report.ticket.showed import counted, showed
from burnin.report.ticket.ticket_facts import TicketFacts

_MOST_ROWS = 14
BEFORE_POWER = "before_power"
"""Measuring the unpowered card, as a kind of check of its own."""


@dataclass(frozen=True)
class CheckLine:
    """One check: title, what it asks, what it showed, how it came out."""

    title: str
    meaning: str
    showed: str
    mark: Mark


def check_lines(
    ticket: TicketFacts, record: Record | None, stages: Sequence[RunStage], words: Catalogue
) -> tuple[CheckLine, ...]:
    """Every check that was made, first of all the values before power."""
    lines = []
    for stage in stages:
        if record is None or stage.verdict is StageVerdict.NOT_MEASURED:
            continue
        own = tuple(r for r in record.readings if r.stage == stage.name)
        title = customer_title(stage, words)
        lines.append(_line(stage.kind, title, stage.verdict, (*own, *_screens(own)), words))
    return (*_before_power(ticket, words), *lines[:_MOST_ROWS])


def customer_title(stage: RunStage, words: Catalogue) -> str:
    """A stage's title for the customer.

    A profile's own title is in the technician's language; where the customer has another and no
    word file has the title, the kind's is taken.
    """
    title = stage.title(words)
    own = stage.own_title
    foreign = bool(own) and words.language != ORIGINAL and words.word(own) == own
    return one_line(words.stage(stage.kind), 80) if foreign else title


def _before_power(ticket: TicketFacts, words: Catalogue) -> tuple[CheckLine, ...]:
    taken = [r for r in ticket.before_power if r.verdict not in (None, Verdict.NOT_MEASURED)]
    if not taken:
        return ()
    right = sum(r.verdict is Verdict.PASS for r in taken)
    wrong = any(r.verdict is Verdict.FAIL for r in taken)
    whole = all(r.verdict in (Verdict.PASS, None) for r in ticket.before_power if r.required)
    good = StageVerdict.PASS if whole else StageVerdict.CONDITIONAL
    readings = (counted("values_right", right), counted("values_all", len(taken)))
    title = words.stage(BEFORE_POWER)
    return (_line(BEFORE_POWER, title, StageVerdict.FAIL if wrong else good, readings, words),)


def _line(
    kind: str, title: str, verdict: StageVerdict, readings: Iterable[Reading], words: Catalogue
) -> CheckLine:
    return CheckLine(
        title=title,
        meaning=words.asks(kind),
        showed=one_line(showed(kind, readings, words), 200),
        mark=Mark(words.label("customer_marks", verdict), STAGE_SHAPES[verdict]),
    )


def _screens(readings: Iterable[Reading]) -> tuple[Reading, ...]:
    """How many of the outputs noticed a screen, as two readings more."""
    found = [r for r in readings if r.name.startswith("screen_detected ")]
    if not found:
        return ()
    seen = sum(r.verdict is Verdict.PASS for r in found)
    return (counted("screens_seen", seen), counted("screens_all", len(found)))
