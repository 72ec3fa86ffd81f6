"""The internal sheet: everything that ticket and record hold, for the shop's own folder."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from burnin.core.reading import Reading, Verdict
from burnin.record.reader import RecordData
from burnin.report.content import SheetContent, compose
from burnin.report.facts import Fact
from burnin.report.figures import moment_text, plain, uncertainty_text, unit_text
from burnin.report.languages import words_of
from burnin.report.terms import OUTCOMES, Outcome
from burnin.report.ticket.customer import verdict_of
from burnin.report.ticket.ticket_facts import PhotoFact, ShopFacts, TicketFacts

_LONG = 2000


@dataclass(frozen=True)
class Table:
    """Rows of plain text under a header; every row is as long as the header."""

    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Section:
    """A part of the sheet; what is empty is not printed."""

    title: str
    facts: tuple[Fact, ...] = ()
    lines: tuple[str, ...] = ()
    table: Table | None = None
    photos: tuple[PhotoFact, ...] = ()

    @property
    def is_empty(self) -> bool:
        """Nothing to print."""
        return not (self.facts or self.lines or self.photos or (self.table and self.table.rows))


@dataclass(frozen=True)
class InternalSheet:
    """All that the internal sheet says, in its order."""

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
    ticket: TicketFacts, record: RecordData | None, shop: ShopFacts, fingerprint: str
) -> InternalSheet:
    """The internal sheet's content; `record` is the run that counts, None where there is none."""
    content = compose(record) if record else None
    verdict, why = verdict_of(ticket, record)
    return InternalSheet(
        title="Internal sheet",
        number=plain(ticket.number, 80),
        shop=plain(shop.name, 80),
        paper=shop.paper,
        outcome=_outcome(verdict),
        reason=plain(why, 400),
        banners=content.banners if content else (),
        sections=tuple(s for s in _sections(ticket, content) if not s.is_empty),
        marks=ticket.marks(),
        date_utc=content.ended_utc if content else ticket.opened_utc,
        fingerprint=fingerprint,
    )


def _outcome(verdict: str) -> Outcome:
    if verdict in OUTCOMES:
        return OUTCOMES[verdict]
    words = words_of("en")["outcomes"][verdict]
    return Outcome(words["word"], "filled" if verdict == "no_fix" else "dotted", words["sentence"])


def _sections(ticket: TicketFacts, content: SheetContent | None) -> Iterable[Section]:
    named = words_of("en")["seen"]
    yield Section("The ticket is damaged", lines=_texts(ticket.flaws))
    yield Section("Not repaired", lines=_texts((ticket.no_fix,) if ticket.no_fix else ()))
    yield Section("Intake", facts=_intake(ticket))
    yield Section(
        "Seen at intake",
        table=Table(
            ("Where", "What", "Note"),
            tuple(
                (s.where, str(named.get(s.what, s.what)), plain(s.note, _LONG))
                for s in ticket.seen
            ),
        ),
    )
    yield Section(
        "Power was put on against what was measured",
        lines=_texts(ticket.overruled),
    )
    yield Section("Measured before power", table=before_power_table(ticket.before_power))
    yield Section(
        "First light",
        facts=tuple(Fact(plain(k, 80), plain(v, 300)) for k, v in ticket.first_light),
    )
    yield Section(
        "Repairs",
        table=Table(
            ("When", "Who", "What", "Contacts", "Cured from"),
            tuple(
                (
                    moment_text(r.time_utc),
                    plain(r.by, 60),
                    plain(r.what, _LONG),
                    ", ".join(r.contacts),
                    moment_text(r.cured_utc) if r.cured_utc else "",
                )
                for r in ticket.repairs
            ),
        ),
    )
    yield Section(
        "Starts of the bench",
        table=Table(
            ("When", "Without power", "Counts", "Link"),
            tuple(
                (moment_text(s.began_utc), s.off, s.counts, s.judged or "never judged: hang")
                for s in ticket.starts
            ),
        ),
    )
    yield Section(
        "Owed",
        table=Table(
            ("Stage", "What", "Why", "From"),
            tuple(
                (
                    plain(o.stage, 60),
                    plain(o.what, 160),
                    plain(o.reason, _LONG),
                    moment_text(o.from_utc) if o.from_utc else "any time",
                )
                for o in ticket.owed
            ),
        ),
    )
    yield Section(
        "Runs of this ticket", table=Table(("Run", "Verdict", "Why"), _rows(ticket.runs))
    )
    if content is not None:
        yield from _run_sections(content)
    yield Section("Notes", table=Table(("When", "Who", "Note"), _dated(ticket.notes)))
    yield Section("Photos", photos=ticket.photos)
    yield Section(
        "Everything, in order", table=Table(("When", "Who", "What"), _dated(ticket.log))
    )


def _run_sections(content: SheetContent) -> Iterable[Section]:
    yield Section("The record is damaged", lines=content.flaws)
    yield Section("Card as it names itself", facts=content.card)
    for guard in content.guards:
        yield Section("What the guard did", facts=guard.facts, lines=(guard.sentence,))
    yield Section(
        "Stages of the run",
        table=Table(
            ("", "Stage", "Verdict", "Why"),
            tuple((s.number, s.title, s.mark.word, s.reason) for s in content.stages),
        ),
    )
    gaps = tuple((g.title, gap.what, gap.reason) for g in content.gaps for gap in g.gaps)
    yield Section("Not tested, and why", table=Table(("Sort", "What", "Why"), gaps))
    yield Section(
        "Every reading",
        table=Table(
            ("", "Reading", "Value", "Must be", "Verdict", "Why"),
            tuple(
                (r.stage, r.title, r.value, r.limit, r.mark.word, r.reason)
                for r in content.readings
            ),
        ),
    )
    words = content.failing_words
    if words is not None:
        yield Section(
            "Memory that read back wrong",
            lines=(words.summary,),
            table=Table(words.header, words.examples),
        )
    yield Section(
        "How it was tested",
        facts=(
            *content.method,
            Fact("Rule", content.decision_rule),
            Fact("Run", content.run_id),
            Fact("readings.csv", content.fingerprint),
        ),
    )


def before_power_table(readings: Iterable[Reading]) -> Table:
    """Values before power as rows of text."""
    header = ("Point", "Value", "Must be", "Verdict", "Why", "Source")
    return Table(header, tuple(_before_power_row(r) for r in readings))


def _before_power_row(reading: Reading) -> tuple[str, ...]:
    value = ""
    if isinstance(reading.value, float):
        value = f"{reading.value:.4g}"
        if reading.uncertainty:
            value += f" ± {uncertainty_text(reading.uncertainty)}"
        value += f" {unit_text(reading.unit)}"
    elif reading.value is not None:
        value = reading.value
    limit = f"{reading.limit} {unit_text(reading.unit)}" if reading.limit else ""
    verdict = reading.verdict.value if reading.verdict else "recorded"
    shown = verdict.upper() if reading.verdict is Verdict.FAIL else verdict
    return (
        reading.name,
        value.strip(),
        limit.strip(),
        shown,
        plain(reading.reason, _LONG),
        plain(reading.source, 120),
    )


def _intake(ticket: TicketFacts) -> tuple[Fact, ...]:
    pairs = [
        ("Opened", moment_text(ticket.opened_utc)),
        *((name.capitalize(), value) for name, value in ticket.intake.items()),
        ("Expedited", "yes" if ticket.expedited else ""),
    ]
    return tuple(Fact(label, plain(value, _LONG)) for label, value in pairs if value.strip())


def _texts(lines: Iterable[str]) -> tuple[str, ...]:
    return tuple(plain(line, _LONG) for line in lines)


def _rows(rows: Iterable[tuple[str, ...]]) -> tuple[tuple[str, ...], ...]:
    return tuple(tuple(plain(cell, _LONG) for cell in row) for row in rows)


def _dated(rows: Iterable[tuple[str, str, str]]) -> tuple[tuple[str, ...], ...]:
    return tuple((moment_text(at), plain(who, 60), plain(what, _LONG)) for at, who, what in rows)
