"""The internal sheet: everything that ticket and record hold, for the shop's own folder."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from burnin.core.verdict import RunVerdict
from burnin.record.reader import Record
from burnin.report.languages.catalogue import Catalogue, catalogue
from burnin.report.languages.one_line import one_line
from burnin.report.sheet.content import SheetContent, compose
from burnin.report.sheet.marks import Outcome, outcome
from burnin.report.ticket.run_sections import run_sections
from burnin.report.ticket.tables import Section, Table, before_power_table
from burnin.report.ticket.ticket_facts import ShopFacts, TicketFacts
from burnin.report.ticket.ticket_sections import sections_after, sections_before
from burnin.report.ticket.ticket_verdict import SHAPES, TicketVerdict, verdict_of

__all__ = ["InternalSheet", "Section", "Table", "before_power_table", "internal_sheet"]


@dataclass(frozen=True)
class InternalSheet:
    """All that the internal sheet says, in its order; `labels` are its headings."""

    language: str
    labels: dict[str, str]
    drawing_words: dict[str, str]
    title: str
    number: str
    shop: str
    paper: str
    outcome: Outcome
    reason: str
    banners: tuple[str, ...]
    sections: tuple[Section, ...]
    marks: dict[str, str]
    date_utc: str
    fingerprint: str


def internal_sheet(
    ticket: TicketFacts,
    record: Record | None,
    shop: ShopFacts,
    fingerprint: str,
    language: str = "en",
) -> InternalSheet:
    """The internal sheet's content; `record` is the run that counts, None where there is none.

    Raises BadInput for a language that there is not.
    """
    words = catalogue(language)
    content = compose(record, words) if record else None
    verdict, why = verdict_of(ticket, record)
    return InternalSheet(
        language=language,
        labels={key: str(text) for key, text in words.group("internal").items()},
        drawing_words={key: str(text) for key, text in words.group("drawing").items()},
        title=words.label("internal", "title"),
        number=one_line(ticket.number, 80),
        shop=one_line(shop.name, 80),
        paper=shop.paper,
        outcome=_outcome(verdict, words, simulated=bool(record and record.run.is_simulated)),
        reason=one_line(words.say(why), 400),
        banners=content.banners if content else (),
        sections=tuple(s for s in _sections(ticket, content, words) if not s.is_empty),
        marks=ticket.marks(),
        date_utc=content.ended_utc if content else ticket.opened_utc,
        fingerprint=fingerprint,
    )


def _outcome(verdict: TicketVerdict, words: Catalogue, *, simulated: bool) -> Outcome:
    """A run's verdict in the words of its own sheet, what only a ticket knows in the customer's."""
    if verdict in (TicketVerdict.UNTESTED, TicketVerdict.NO_FIX):
        word, sentence = words.group("customer_outcomes")[verdict]
        return Outcome(word, SHAPES[verdict], sentence)
    return outcome(RunVerdict(verdict), words, simulated=simulated)


def _sections(
    ticket: TicketFacts, content: SheetContent | None, words: Catalogue
) -> Iterable[Section]:
    yield from sections_before(ticket, words)
    if content is not None:
        yield from run_sections(content, words)
    yield from sections_after(ticket, words)
