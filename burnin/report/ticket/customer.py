"""The customer's sheet: one page, plain words, in the customer's language.

One structure for page and paper; every text in it is plain text without markup.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from burnin.core.meaning import Meaning
from burnin.core.verdict import OwedWhat
from burnin.record.reader import Record
from burnin.report.languages.catalogue import Catalogue, catalogue
from burnin.report.languages.one_line import one_line
from burnin.report.sheet.marks import Outcome, simulated_outcome
from burnin.report.sheet.meanings import Banner, UntestedTerm
from burnin.report.sheet.never_tested import never_tested
from burnin.report.sheet.particulars import Fact
from burnin.report.sheet.printed_verdict import banners
from burnin.report.sheet.run_stages import RunStage, run_stages
from burnin.report.ticket.customer_checks import CheckLine, check_lines, customer_title
from burnin.report.ticket.ticket_facts import OwedFact, RepairFact, ShopFacts, TicketFacts
from burnin.report.ticket.ticket_verdict import BAD, SHAPES, TicketVerdict, verdict_of
from burnin.stages.cold_starts.meanings import ColdStartReason

__all__ = ["CustomerSheet", "customer_sheet", "verdict_of", "with_fingerprint"]


@dataclass(frozen=True)
class CustomerSheet:
    """All that the customer's sheet says. `paper` is a4 or letter; `date_utc` is ISO-8601.

    `drawing_words`: what the drawing of the edge calls hatchings and marks. `owed`: in a word that
    stands as large as that of what passed, where something still is; else empty.
    """

    language: str
    paper: str
    labels: dict[str, str]
    drawing_words: dict[str, str]
    shop: str
    address: tuple[str, ...]
    verdict: TicketVerdict
    outcome: Outcome
    owed: str
    why: str
    banners: tuple[str, ...]
    facts: tuple[Fact, ...]
    seen: tuple[str, ...]
    repaired: tuple[str, ...]
    marks: dict[str, str]
    tests: tuple[CheckLine, ...]
    not_tested: tuple[Fact, ...]
    advice: tuple[str, ...]
    warranty: str
    cautions: tuple[str, ...]
    number: str
    date_utc: str
    fingerprint: str


def customer_sheet(
    ticket: TicketFacts, record: Record | None, shop: ShopFacts, language: str
) -> CustomerSheet:
    """What the customer reads; `record` None: no test since the last work on the card.

    Raises BadInput for a language that there is not.
    """
    words = catalogue(language).in_zone(shop.time_zone)
    stages = run_stages(record) if record else ()
    verdict, why = verdict_of(ticket, record)
    word, sentence = words.group("customer_outcomes")[verdict]
    tests = check_lines(ticket, record, stages, words)
    owed = _not_tested(ticket, stages, words)
    return CustomerSheet(
        language=language,
        paper=shop.paper,
        labels={key: str(text) for key, text in words.group("customer").items()},
        drawing_words={key: str(text) for key, text in words.group("drawing").items()},
        shop=one_line(shop.name, 80),
        address=tuple(one_line(line, 80) for line in shop.address),
        verdict=verdict,
        outcome=_outcome(Outcome(word, SHAPES[verdict], sentence), record, words),
        owed=_owed_large(verdict, owed, words),
        why=_why(verdict, why, tests, words),
        banners=_banners(record, words),
        facts=_facts(ticket, record, words),
        seen=_seen(ticket, words),
        repaired=tuple(_repair_line(repair, words) for repair in ticket.repairs),
        marks=ticket.marks(),
        tests=tests,
        not_tested=(*owed, *_no_check(ticket, record, words)),
        advice=_advice(ticket, verdict, words),
        warranty="" if verdict in BAD else one_line(shop.warranty, 600),
        cautions=(
            *(str(text) for text in words.group("customer_cautions").values()),
            *(one_line(line, 300) for line in shop.cautions),
        ),
        number=one_line(ticket.number, 60),
        date_utc=record.run.started_utc if record else "",
        fingerprint="",
    )


def with_fingerprint(sheet: CustomerSheet, fingerprint: str) -> CustomerSheet:
    """The sheet with the fingerprint of what it stands on."""
    return replace(sheet, fingerprint=fingerprint)


def _outcome(of_card: Outcome, record: Record | None, words: Catalogue) -> Outcome:
    simulated = record is not None and record.run.is_simulated
    return simulated_outcome(of_card, words) if simulated else of_card


def _why(
    verdict: TicketVerdict, reason: Meaning | None, tests: Iterable[CheckLine], words: Catalogue
) -> str:
    """Why a card did not pass; what failed is told by what the check showed."""
    wrong = [f"{t.title}: {t.showed}" for t in tests if t.mark.shape == "filled" and t.showed]
    if verdict is TicketVerdict.FAIL and wrong:
        return one_line("; ".join(wrong), 300)
    told = (TicketVerdict.FAIL, TicketVerdict.ABORTED, TicketVerdict.NO_FIX)
    return one_line(words.say(reason), 300) if verdict in told else ""


def _banners(record: Record | None, words: Catalogue) -> tuple[str, ...]:
    found = banners(record) if record else ()
    short = words.label("customer", "software")
    return tuple(short if b.means(Banner.SOFTWARE_ENGINE) else words.say(b) for b in found)


def _facts(ticket: TicketFacts, record: Record | None, words: Catalogue) -> tuple[Fact, ...]:
    intake = ticket.intake
    card = record.run.card if record else None
    name = card.name if card and isinstance(card.name, str) else ""
    serial = card.serial if card and isinstance(card.serial, str) else ""
    technician = record.run.ticket.technician if record else ""
    pairs = (
        ("customer", intake.get("customer", "")),
        ("reference", intake.get("reference", "")),
        ("ticket", ticket.number),
        ("card", intake.get("card") or name),
        ("serial", intake.get("serial") or serial),
        ("brought", words.day(ticket.opened_utc) if ticket.opened_utc else ""),
        ("fault", intake.get("fault", "")),
        ("accessories", intake.get("accessories", "")),
        ("tested_on", words.day(record.run.started_utc) if record else ""),
        ("tested_by", technician or intake.get("technician", "")),
    )
    shown = ((words.label("customer", key), one_line(value, 140)) for key, value in pairs)
    return tuple(Fact(label, value) for label, value in shown if value)


def _seen(ticket: TicketFacts, words: Catalogue) -> tuple[str, ...]:
    """Damage in plain words; contacts with the same damage on one line."""
    named = words.group("seen")
    contacts: dict[str, list[str]] = {}
    found = []
    for seen in ticket.seen:
        what = str(named.get(seen.what, seen.what))
        if seen.where[:1] in ("A", "B"):
            contacts.setdefault(what, []).append(seen.where)
        else:
            note = f" ({one_line(seen.note, 80)})" if seen.note else ""
            found.append(f"{named.get(seen.where, seen.where)}: {what}{note}")
    joined = [f"{_contacts(names, words)}: {what}" for what, names in contacts.items()]
    return tuple(one_line(line, 200) for line in (*joined, *found))


def _contacts(names: Iterable[str], words: Catalogue) -> str:
    listed = list(names)
    key = "contact" if len(listed) == 1 else "contacts"
    return words.label("seen", key).format(name=", ".join(listed))


def _repair_line(repair: RepairFact, words: Catalogue) -> str:
    where = f" ({_contacts(repair.contacts, words)})" if repair.contacts else ""
    return f"{one_line(repair.what, 160)}{where}"


def _not_tested(
    ticket: TicketFacts, stages: Sequence[RunStage], words: Catalogue
) -> tuple[Fact, ...]:
    """What is owed, by the customer's names of the stages; what shares a reason on one line."""
    if ticket.no_fix:
        return ()
    titles = {stage.name: customer_title(stage, words) for stage in stages}
    found: dict[str, dict[str, None]] = {}
    for owed in (o for o in ticket.owed if not o.failed):
        reason = one_line(words.say(_away_from_bench(owed.reason)), 200)
        if owed.from_utc:
            since = words.label("customer", "from")
            reason = f"{reason} ({since} {words.moment_after(owed.from_utc)})"
        found.setdefault(reason, {})[_owed_title(owed, titles, words)] = None
    return tuple(Fact(", ".join(what), reason) for reason, what in found.items())


def _away_from_bench(reason: Meaning) -> Meaning:
    """The same without what somebody at the bench does next."""
    if not reason.means(ColdStartReason.MORE_WANTED):
        return reason
    return ColdStartReason.SEEN_OF(
        **{name: reason[name] for name in ColdStartReason.SEEN_OF.fields}
    )


def _owed_large(verdict: TicketVerdict, owed: Sequence[Fact], words: Catalogue) -> str:
    """What is still to be tested, for the large letters."""
    if verdict is not TicketVerdict.CONDITIONAL or not owed:
        return ""
    first, more = owed[0].label, len(owed) - 1
    told = one_line(first, 70)
    key = "still_owed_more" if more else "still_owed"
    return words.label("customer", key).format(what=told, count=more)


def _no_check(ticket: TicketFacts, record: Record | None, words: Catalogue) -> tuple[Fact, ...]:
    """What no test of this tool works, on one line."""
    if ticket.no_fix or record is None:
        return ()
    what = one_line(", ".join(words.say(part) for part in never_tested(record)), 300)
    return (Fact(what[:1].upper() + what[1:], words.say(UntestedTerm.WHY())),)


def _owed_title(owed: OwedFact, titles: dict[str, str], words: Catalogue) -> str:
    """The stage where a stage is owed, whole or in part, else what is owed."""
    whole = owed.what.means(OwedWhat.STAGE, OwedWhat.READING)
    return (titles.get(owed.stage, "") if whole else "") or one_line(words.say(owed.what), 120)


def _advice(ticket: TicketFacts, verdict: TicketVerdict, words: Catalogue) -> tuple[str, ...]:
    if verdict in BAD:
        return (words.label("advice", "do_not_use"),)
    found = []
    curing = [r.cured_utc for r in ticket.repairs if r.cured_utc > ticket.made_utc]
    if curing:
        moment = words.moment_after(max(curing))
        found.append(words.label("advice", "cure").format(moment=moment))
    if verdict is TicketVerdict.CONDITIONAL:
        found.append(words.label("advice", "bring_back"))
    return (*found, *(words.label("advice", k) for k in ("support", "seat", "carry", "watch")))
