"""Sections of the internal sheet on the ticket: before its run, and after it."""

from __future__ import annotations

from collections.abc import Iterator

from burnin.core.clock import duration
from burnin.core.meaning import Meaning
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.one_line import one_line
from burnin.report.sheet.particulars import Fact
from burnin.report.ticket.tables import MOST, Section, before_power_table, table_of
from burnin.report.ticket.ticket_facts import OwedFact, RepairFact, StartFact, TicketFacts


def sections_before(ticket: TicketFacts, words: Catalogue) -> Iterator[Section]:
    """What came in, was seen, measured and done, and what is owed."""

    def title(name: str) -> str:
        return words.label("internal", name)

    named = words.group("seen")
    yield Section(title("ticket_damaged"), lines=_texts(ticket.flaws, words))
    yield Section(title("not_repaired"), lines=_texts((ticket.no_fix,), words))
    yield Section(title("intake"), facts=_intake(ticket, words))
    seen = (
        (str(named.get(s.where, s.where)), str(named.get(s.what, s.what)), s.note)
        for s in ticket.seen
    )
    yield Section(
        title("seen_at_intake"), table=table_of(("col_where", "col_what", "col_note"), seen, words)
    )
    yield Section(title("against_measured"), lines=_texts(ticket.overruled, words))
    yield Section(title("corrected"), lines=_texts(ticket.corrected, words))
    yield Section(title("before_time"), lines=_texts(ticket.before_time, words))
    yield Section(title("before_power"), table=before_power_table(ticket.before_power, words))
    yield Section(
        title("first_light"),
        facts=tuple(
            Fact(one_line(words.say(asked), 80), one_line(_told(answer, words), 300))
            for asked, answer in ticket.first_light
        ),
    )
    columns: tuple[str, ...] = ("col_when", "col_who", "col_what", "col_contacts", "col_cured")
    repairs = (_repair(r, words) for r in ticket.repairs)
    yield Section(title("repairs"), table=table_of(columns, repairs, words))
    columns = ("col_when", "col_off", "col_counts", "col_link")
    starts = (_start(s, words) for s in ticket.starts)
    yield Section(title("starts"), table=table_of(columns, starts, words))
    columns = ("col_stage", "col_what", "col_why", "col_from")
    owed = (_owed(o, words) for o in ticket.owed)
    yield Section(title("owed"), table=table_of(columns, owed, words))
    runs = ((run, words.word(verdict), words.say(why)) for run, verdict, why in ticket.runs)
    yield Section(title("runs"), table=table_of(("col_run", "col_verdict", "col_why"), runs, words))


def sections_after(ticket: TicketFacts, words: Catalogue) -> Iterator[Section]:
    """Notes, photos, and every event of the log."""

    def title(name: str) -> str:
        return words.label("internal", name)

    columns = ("col_when", "col_who", "col_note")
    notes = ((words.moment(at), one_line(who, 60), note) for at, who, note in ticket.notes)
    yield Section(title("notes"), table=table_of(columns, notes, words))
    yield Section(title("photos"), photos=ticket.photos)
    columns = ("col_when", "col_who", "col_what")
    log = (
        (words.moment(at), one_line(who, 60), _told(what, words)) for at, who, what in ticket.log
    )
    yield Section(title("everything"), table=table_of(columns, log, words))


def _told(given: str | Meaning, words: Catalogue) -> str:
    return given if isinstance(given, str) else words.say(given)


def _texts(given: tuple[str | Meaning, ...], words: Catalogue) -> tuple[str, ...]:
    told = (one_line(_told(item, words), MOST) for item in given)
    return tuple(line for line in told if line)


def _intake(ticket: TicketFacts, words: Catalogue) -> tuple[Fact, ...]:
    named = words.group("intake")
    pairs = [
        (words.label("internal", "opened"), words.moment(ticket.opened_utc)),
        *(
            (str(named.get(name) or name.capitalize()), value)
            for name, value in ticket.intake.items()
        ),
        (
            words.label("internal", "expedited"),
            words.label("internal", "yes") if ticket.expedited else "",
        ),
    ]
    return tuple(Fact(label, one_line(value, MOST)) for label, value in pairs if value.strip())


def _repair(repair: RepairFact, words: Catalogue) -> tuple[str, ...]:
    return (
        words.moment(repair.time_utc),
        one_line(repair.by, 60),
        repair.what,
        ", ".join(repair.contacts),
        words.moment(repair.cured_utc) if repair.cured_utc else "",
    )


def _start(start: StartFact, words: Catalogue) -> tuple[str, ...]:
    def label(name: str) -> str:
        return words.label("internal", name)

    off = label("nobody_saw") if start.off_s is None else words.number(duration(start.off_s))
    counts = label("counts") if start.cold else words.say(start.why_not)
    if start.reseated:
        counts += f", {label('reseated')}"
    judged = words.word(start.judged) if start.judged else label("never_judged")
    if start.reasons:
        judged += f": {words.says(start.reasons)}"
    return words.moment(start.began_utc), off, counts, judged


def _owed(owed: OwedFact, words: Catalogue) -> tuple[str, ...]:
    return (
        one_line(owed.stage, 60),
        one_line(words.say(owed.what), 160),
        words.say(owed.reason),
        words.moment(owed.from_utc) if owed.from_utc else words.label("internal", "any_time"),
    )
