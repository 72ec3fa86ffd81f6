"""The customer's sheet: one page, plain words, in the customer's language.

One structure for page and paper; every text in it is plain text without markup.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from burnin.core.reading import Verdict
from burnin.record.reader import ReadingRow, RecordData, table, text
from burnin.report.facts import Fact
from burnin.report.figures import plain
from burnin.report.local_words import LocalWords
from burnin.report.outcome import judge_record
from burnin.report.spans import Span, spans
from burnin.report.terms import OUTCOMES, STAGE_MARKS, STAGE_TITLES, Mark, Outcome
from burnin.report.ticket.ticket_facts import OwedFact, RepairFact, ShopFacts, TicketFacts

_MOST_ROWS = 14
NO_FIX, UNTESTED = "no_fix", "untested"
_SHAPES = {NO_FIX: "filled", UNTESTED: "dotted"}


@dataclass(frozen=True)
class TestLine:
    """One check: title, what it asks, what it showed, how it came out."""

    title: str
    meaning: str
    showed: str
    mark: Mark


@dataclass(frozen=True)
class CustomerSheet:
    """All that the customer's sheet says. `paper` is a4 or letter; `date_utc` is ISO-8601."""

    language: str
    paper: str
    labels: dict[str, str]
    shop: str
    address: tuple[str, ...]
    verdict: str
    outcome: Outcome
    why: str
    banners: tuple[str, ...]
    facts: tuple[Fact, ...]
    seen: tuple[str, ...]
    repaired: tuple[str, ...]
    marks: dict[str, str]
    tests: tuple[TestLine, ...]
    not_tested: tuple[Fact, ...]
    advice: tuple[str, ...]
    warranty: str
    cautions: tuple[str, ...]
    number: str
    date_utc: str
    fingerprint: str


def customer_sheet(
    ticket: TicketFacts, record: RecordData | None, shop: ShopFacts, language: str
) -> CustomerSheet:
    """What the customer reads; `record` None: no test since the last work on the card."""
    words = LocalWords(language, shop.time_zone)
    stages = spans(record) if record else ()
    verdict, why = verdict_of(ticket, record)
    outcome = words.group("outcomes")[verdict]
    tests = (*_before_power(ticket, words), *_tests(record, stages, words))
    shape = _SHAPES.get(verdict) or OUTCOMES[verdict].shape
    date_utc = ""
    if record is not None:
        date_utc = text(record.facts, "started_utc")
    return CustomerSheet(
        language=language,
        paper=shop.paper,
        labels={key: str(value) for key, value in words.group("labels").items()},
        shop=plain(shop.name, 80),
        address=tuple(plain(line, 80) for line in shop.address),
        verdict=verdict,
        outcome=Outcome(outcome["word"], shape, outcome["sentence"]),
        why=_why(verdict, why, tests),
        banners=_banners(record, words),
        facts=_facts(ticket, record, words),
        seen=_seen(ticket, words),
        repaired=tuple(_repair_line(repair, words) for repair in ticket.repairs),
        marks=ticket.marks(),
        tests=tests,
        not_tested=_not_tested(ticket, stages, words),
        advice=_advice(ticket, verdict, words),
        warranty=plain(shop.warranty, 600) if verdict != NO_FIX else "",
        cautions=(
            *(str(value) for value in words.group("cautions").values()),
            *(plain(line, 300) for line in shop.cautions),
        ),
        number=plain(ticket.number, 60),
        date_utc=date_utc,
        fingerprint="",
    )


def verdict_of(ticket: TicketFacts, record: RecordData | None) -> tuple[str, str]:
    """A ticket's verdict and its reason: a key of the outcomes, never better than the record's."""
    if ticket.no_fix:
        return NO_FIX, ticket.no_fix
    if record is None:
        return UNTESTED, ""
    verdict, _, reason = judge_record(record, spans(record))
    if verdict not in ("pass", "conditional"):
        return verdict, reason
    wrong = [
        f"{r.name}: {r.reason}"
        for r in ticket.before_power
        if r.verdict is Verdict.FAIL and r.required
    ]
    if ticket.failed or wrong:
        return "fail", "; ".join((*ticket.failed, *wrong))
    return ("conditional", reason) if ticket.owed else (verdict, reason)


def with_fingerprint(sheet: CustomerSheet, fingerprint: str) -> CustomerSheet:
    """The sheet with the fingerprint of what it stands on."""
    return replace(sheet, fingerprint=fingerprint)


def _why(verdict: str, reason: str, tests: Iterable[TestLine]) -> str:
    """Why a card did not pass; what failed is told in the customer's language."""
    wrong = [f"{t.title}: {t.showed}" for t in tests if t.mark.shape == "filled" and t.showed]
    if verdict == "fail" and wrong:
        return plain("; ".join(wrong), 300)
    return plain(reason, 300) if verdict in ("fail", "aborted", NO_FIX) else ""


def _banners(record: RecordData | None, words: LocalWords) -> tuple[str, ...]:
    if record is None:
        return ()
    card, engine = table(record.facts, "card"), table(record.facts, "engine")
    found = []
    if record.facts.get("simulated") or card.get("simulated") or engine.get("simulated"):
        found.append(words.label("simulated"))
    if engine.get("works_card") is False:
        found.append(words.label("software"))
    return tuple(found)


def _facts(
    ticket: TicketFacts, record: RecordData | None, words: LocalWords
) -> tuple[Fact, ...]:
    intake = ticket.intake
    card = table(record.facts, "card") if record else {}
    named = intake.get("card") or text(card, "name")
    tested = text(record.facts, "started_utc") if record else ""
    technician = text(table(record.facts, "ticket"), "technician") if record else ""
    pairs = (
        ("customer", intake.get("customer", "")),
        ("reference", intake.get("reference", "")),
        ("ticket", ticket.number),
        ("card", named),
        ("serial", intake.get("serial") or text(card, "serial")),
        ("brought", words.day(ticket.opened_utc) if ticket.opened_utc else ""),
        ("fault", intake.get("fault", "")),
        ("accessories", intake.get("accessories", "")),
        ("tested_on", words.day(tested) if tested else ""),
        ("tested_by", technician or intake.get("technician", "")),
    )
    shown = ((words.label(key), plain(value, 140)) for key, value in pairs)
    return tuple(Fact(label, value) for label, value in shown if value)


def _seen(ticket: TicketFacts, words: LocalWords) -> tuple[str, ...]:
    """Damage in plain words; contacts with the same damage on one line."""
    named = words.group("seen")
    contacts: dict[str, list[str]] = {}
    found = []
    for seen in ticket.seen:
        what = str(named.get(seen.what, seen.what))
        if seen.where[:1] in ("A", "B"):
            contacts.setdefault(what, []).append(seen.where)
        else:
            note = f" ({plain(seen.note, 80)})" if seen.note else ""
            found.append(f"{named.get(seen.where, seen.where)}: {what}{note}")
    joined = [f"{_contacts(names, words)}: {what}" for what, names in contacts.items()]
    return tuple(plain(line, 200) for line in (*joined, *found))


def _contacts(names: Iterable[str], words: LocalWords) -> str:
    listed = list(names)
    key = "contact" if len(listed) == 1 else "contacts"
    return str(words.group("seen")[key]).format(name=", ".join(listed))


def _repair_line(repair: RepairFact, words: LocalWords) -> str:
    where = f" ({_contacts(repair.contacts, words)})" if repair.contacts else ""
    return f"{plain(repair.what, 160)}{where}"


def _before_power(ticket: TicketFacts, words: LocalWords) -> tuple[TestLine, ...]:
    taken = [r for r in ticket.before_power if r.verdict not in (None, Verdict.NOT_MEASURED)]
    if not taken:
        return ()
    right = sum(r.verdict is Verdict.PASS for r in taken)
    wrong = any(r.verdict is Verdict.FAIL for r in taken)
    whole = all(r.verdict in (Verdict.PASS, None) for r in ticket.before_power if r.required)
    verdict = "fail" if wrong else "pass" if whole else "conditional"
    rows = (_count("values_right", right), _count("values_all", len(taken)))
    return (_test_line("before_power", "", verdict, rows, words),)


def _tests(
    record: RecordData | None, stages: tuple[Span, ...], words: LocalWords
) -> tuple[TestLine, ...]:
    if record is None:
        return ()
    lines = []
    for span in stages:
        if span.verdict == "not measured":
            continue
        rows = tuple(row for row in record.readings if row.stage == span.name)
        title = "" if span.title == STAGE_TITLES.get(span.kind) else span.title
        lines.append(_test_line(span.kind, title, span.verdict, (*rows, *_screens(rows)), words))
    return tuple(lines[:_MOST_ROWS])


def _test_line(
    kind: str, own_title: str, verdict: str, rows: Iterable[ReadingRow], words: LocalWords
) -> TestLine:
    titles, meanings = words.group("stages"), words.group("meanings")
    # A profile's own title is in the technician's language; the kind's is in the customer's.
    title = str(titles.get(kind) or own_title or kind.replace("_", " ").capitalize())
    if own_title and words.language == "en":
        title = own_title
    return TestLine(
        title=plain(title, 80),
        meaning=str(meanings.get(kind, "")),
        showed=plain(words.showed(kind, rows), 200),
        mark=Mark(str(words.group("marks")[verdict]), STAGE_MARKS[verdict].shape),
    )


def _screens(rows: Iterable[ReadingRow]) -> tuple[ReadingRow, ...]:
    """How many of the outputs noticed a screen, as two readings more."""
    found = [row for row in rows if row.name.startswith("screen_detected ")]
    if not found:
        return ()
    seen = sum(row.verdict == "pass" for row in found)
    return (_count("screens_seen", seen), _count("screens_all", len(found)))


def _count(name: str, value: int) -> ReadingRow:
    return ReadingRow(
        "", name, str(value), float(value), "", 0.0, None, None, "", "pass", True, ""
    )


def _not_tested(
    ticket: TicketFacts, stages: tuple[Span, ...], words: LocalWords
) -> tuple[Fact, ...]:
    """What is owed, by the customer's names of the stages; what shares a reason on one line."""
    if ticket.no_fix:
        return ()
    kinds = {span.name: span.kind for span in stages}
    found: dict[str, dict[str, None]] = {}
    for owed in (o for o in ticket.owed if not o.failed):
        what = _owed_title(owed, kinds, words)
        reason = words.reason(plain(owed.reason, 200))
        if owed.from_utc:
            reason = f"{reason} ({words.label('from')} {words.moment(owed.from_utc)})"
        found.setdefault(reason, {})[what] = None
    return tuple(Fact(", ".join(what), reason) for reason, what in found.items())


def _owed_title(owed: OwedFact, kinds: dict[str, str], words: LocalWords) -> str:
    named = owed.stage or owed.what.lower()
    kind = kinds.get(owed.stage) or owed.stage.partition("-")[2] or named.replace(" ", "_")
    return str(words.group("stages").get(kind) or plain(owed.what, 120))


def _advice(ticket: TicketFacts, verdict: str, words: LocalWords) -> tuple[str, ...]:
    advice = words.group("advice")
    if verdict in (NO_FIX, UNTESTED, "fail", "aborted", "incomplete"):
        return (str(advice["do_not_use"]),)
    found = []
    curing = [r.cured_utc for r in ticket.repairs if r.cured_utc > ticket.made_utc]
    if curing:
        found.append(str(advice["cure"]).format(moment=words.moment(max(curing))))
    if verdict == "conditional":
        found.append(str(advice["bring_back"]))
    found += [str(advice[key]) for key in ("support", "seat", "carry", "watch")]
    return tuple(found)
