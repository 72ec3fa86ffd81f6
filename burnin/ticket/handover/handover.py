"""Handover: sheets, checksums and signature in a folder of their own, and its line in the log."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from burnin.core.clock import iso
from burnin.core.errors import BadInput, BurninError
from burnin.core.files.private_files import FOR_ANYBODY, folder_mode
from burnin.core.meaning import Reason
from burnin.core.plain import plain
from burnin.core.system import cannot_write
from burnin.record.durable import write_json
from burnin.record.event_log import Log, read_log
from burnin.record.reader import Record, read_record
from burnin.record.sums import write_checksums
from burnin.report.languages.catalogue import catalogue
from burnin.report.plots.series import plot_data
from burnin.report.plots.static import static_plot
from burnin.report.ticket.customer import customer_sheet, with_fingerprint
from burnin.report.ticket.customer_pages import customer_page, customer_pdf
from burnin.report.ticket.internal import internal_sheet
from burnin.report.ticket.internal_pages import internal_page, internal_pdf
from burnin.report.ticket.ticket_facts import TicketFacts
from burnin.report.ticket.ticket_verdict import TicketVerdict, verdict_of
from burnin.run.record_lock import is_held
from burnin.ticket.event_notes import event_note
from burnin.ticket.handover.facts_for_sheets import facts_of_ticket, shop_facts
from burnin.ticket.handover.files_of_folder import sha256_of
from burnin.ticket.handover.meanings import HandoverReason
from burnin.ticket.handover.records_judged import refusals
from burnin.ticket.handover.refusals import HandoverRefusal
from burnin.ticket.handover.signing import FACTS, sign_record
from burnin.ticket.handover.standing_on import stands_on
from burnin.ticket.log.days_and_spans import utc_now
from burnin.ticket.log.store import Unless, add_all, ticket_at
from burnin.ticket.log.ticket_from_log import LOG
from burnin.ticket.log.whole_ticket import WholeTicket
from burnin.ticket.proven.counting import runs_that_count
from burnin.ticket.proven.past_runs import PastRun
from burnin.ticket.shop.known_keys import known_keys
from burnin.ticket.shop.shop_file import Language, Shop, load_shop
from burnin.ticket.shop.shop_key import public_bytes, shop_key

PREFIX = "handover-"
FORMAT = 3
"""Of handover.json: since 2, what is owed and why are codes with their data; since 3, it names
every run of the ticket and every handover before."""


@dataclass(frozen=True)
class Handover:
    """What was made: folder, the sheets' files, verdict and fingerprint as printed."""

    folder: Path
    files: tuple[Path, ...]
    verdict: TicketVerdict
    fingerprint: str
    ticket: WholeTicket


def hand_over(
    ticket: WholeTicket,
    *,
    languages: Sequence[Language] = (),
    paper: str = "",
    known_good: WholeTicket | None = None,
    by: str = "",
    now: datetime | None = None,
) -> Handover:
    """Make both sheets of a ticket, sign them, and close the ticket where nothing is owed.

    Every record is judged anew first, and one that does not hold refuses the handover. Raises
    BadInput or RecordError, with nothing in the log, where a sheet cannot be made.
    """
    seen_count = len(read_log(ticket.folder / LOG).events)
    ticket = ticket_at(ticket.folder) or ticket
    if ticket.closed:
        raise BadInput(HandoverRefusal.CLOSED(number=ticket.number, closed_utc=ticket.closed))
    for run, listed in ticket.runs.items():
        if not listed.ended and is_held(ticket.folder / run):
            raise BadInput(HandoverRefusal.RUN_GOES_ON(number=ticket.number, run=run))
    why = refusals(ticket)
    if why:
        raise BadInput(HandoverReason.REFUSED(number=ticket.number, why=why))
    moment = now or utc_now()
    shop = load_shop()
    if paper:
        shop = shop.model_copy(update={"paper": paper})
    facts = facts_of_ticket(ticket, moment, known_good)
    runs = runs_that_count(ticket)
    record = read_record(runs[-1].folder) if runs else None
    verdict, _ = verdict_of(facts, record)
    passing, key = _passing_folder(ticket), public_bytes(shop_key())
    try:
        fingerprint = _write_facts(passing, ticket, facts, runs, verdict, moment)
        spoken = languages or shop.languages
        names = _write_sheets(passing, facts, record, shop, spoken, fingerprint)
        write_checksums(passing)
        sign_record(passing)
        if public_bytes(shop_key()) != key or _is_younger(key, moment):
            raise BadInput(HandoverRefusal.KEY_CHANGED(number=ticket.number))
        folder = _settle(passing, ticket, moment)
    finally:
        shutil.rmtree(passing, ignore_errors=True)
    fields = {"folder": folder.name, "verdict": verdict.value, "fingerprint": fingerprint}
    events: list[tuple[str, dict[str, object]]] = [("handed_over", dict(fields))]
    if (not facts.owed and verdict is TicketVerdict.PASS) or ticket.no_fix:
        events.append(("closed", {}))
    try:
        unless = changed_since(seen_count)
        after = add_all(ticket, events, by=by, now=moment, unless=unless)
    except BurninError:  # closed or changed meanwhile: what the log does not list is no handover
        shutil.rmtree(folder, ignore_errors=True)
        raise
    files = tuple(folder / name for name in names)
    return Handover(folder, files, verdict, fingerprint, after)


def _is_younger(key: bytes, moment: datetime) -> bool:
    """Whether a key was made after this moment: it vouches for nothing that is older than it."""
    return any(known.public == key and iso(moment) < known.from_utc for known in known_keys())


def changed_since(seen_count: int) -> Unless:
    """Refuses where the log has grown: nothing is signed over what another did meanwhile."""

    def changed(log: Log, there: WholeTicket) -> Reason | None:
        if len(log.events) == seen_count:
            return None
        event = log.events[seen_count]
        told = HandoverRefusal.CHANGED_MEANWHILE
        return told(number=there.number, event=event_note(event), by=event.by or "–")

    return changed


def spoken(
    ticket: WholeTicket, asked: tuple[str, ...], paper: str
) -> tuple[tuple[Language, ...], str]:
    """Languages and paper of a handover; raises BadInput for those that there are not."""
    wanted = asked or ((ticket.intake["language"],) if ticket.intake.get("language") else ())
    known: dict[str, Language] = {"en": "en", "de": "de"}
    for language in wanted:
        if language not in known:
            raise BadInput(HandoverRefusal.NO_LANGUAGE(text=language, there=tuple(known)))
    if paper not in ("", "a4", "letter"):
        raise BadInput(HandoverRefusal.NO_PAPER(text=paper))
    return tuple(dict.fromkeys(known[language] for language in wanted)), paper


def _passing_folder(ticket: WholeTicket) -> Path:
    """Where a handover is made, so that nobody ever meets half of one."""
    try:
        return Path(tempfile.mkdtemp(prefix=".handover-", dir=ticket.folder))
    except OSError as error:
        raise BadInput(cannot_write(ticket.folder, error)) from error


def _settle(passing: Path, ticket: WholeTicket, moment: datetime) -> Path:
    """Give the finished folder its name, one that nobody else takes at the same moment."""
    name = PREFIX + moment.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")
    passing.chmod(folder_mode(ticket.folder))
    for number in range(1, 100):
        folder = ticket.folder / (name if number == 1 else f"{name}-{number}")
        try:
            passing.rename(folder)
        except OSError as error:
            if folder.exists():
                continue
            raise BadInput(cannot_write(folder, error)) from error
        return folder
    raise BadInput(HandoverRefusal.A_HUNDRED(folder=str(ticket.folder)))


def _write_facts(
    folder: Path,
    ticket: WholeTicket,
    facts: TicketFacts,
    runs: Sequence[PastRun],
    verdict: TicketVerdict,
    moment: datetime,
) -> str:
    """handover.json: what the sheets stand on; its hash is the fingerprint that they print."""
    content = {
        "format": FORMAT,
        "number": ticket.number,
        "made_utc": iso(moment),
        "verdict": verdict.value,
        "intake": dict(ticket.intake),
        "repairs": plain(facts.repairs),
        "corrected": plain(facts.corrected),
        "owed": plain(facts.owed),
        "no_fix": ticket.no_fix,
        "photos": [{"file": p.file, "sha256": p.sha256} for p in ticket.photos],
        **stands_on(ticket, runs),
    }
    write_json(folder / FACTS, content)
    return (sha256_of(folder / FACTS) or "")[:16]


def _write_sheets(
    folder: Path,
    facts: TicketFacts,
    record: Record | None,
    shop: Shop,
    languages: Sequence[Language],
    fingerprint: str,
) -> tuple[str, ...]:
    names = []
    verdict, _ = verdict_of(facts, record)
    for language in languages:
        named = shop_facts(shop, language)
        sheet = with_fingerprint(customer_sheet(facts, record, named, language), fingerprint)
        ending = "" if len(languages) == 1 else f".{language}"
        html, pdf = folder / f"customer{ending}.html", folder / f"customer{ending}.pdf"
        html.write_text(customer_page(sheet, named, facts.photos), encoding="utf-8")
        pdf.write_bytes(customer_pdf(sheet, named, facts.photos))
        for handed_out in (html, pdf):
            handed_out.chmod(FOR_ANYBODY)
        names += [html.name, pdf.name]
    ours = shop.languages[0]
    plot = static_plot(plot_data(record, catalogue(ours))) if record else ""
    own = internal_sheet(facts, record, shop_facts(shop, ours), fingerprint, ours)
    html, pdf = folder / "internal.html", folder / "internal.pdf"
    html.write_text(internal_page(own, plot, verdict), encoding="utf-8")
    pdf.write_bytes(internal_pdf(own, plot, verdict))
    return (*names, html.name, pdf.name)
