"""A ticket's page in words: the repair, what is owed, runs side by side, sheets, photos."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from burnin.page.board_terms import TicketTerm
from burnin.page.telling.board import (
    Told,
    last_word,
    marks,
    next_step_told,
    owed_lines,
    run_word,
)
from burnin.page.telling.drawn import KINDS
from burnin.page.telling.seat import place_of
from burnin.page.tickets.seen import RunSeen, TicketSeen
from burnin.page.tickets.watch import story
from burnin.record.schema.run import StageRow
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.one_line import one_line
from burnin.report.sheet.marks import stage_mark
from burnin.ticket.event_notes import event_note
from burnin.ticket.intake.photos import is_gone
from burnin.ticket.log.whole_ticket import Photo

MOST_RUNS, MOST_PHOTOS = 6, 24
_MOST_OWED, _MOST_STORY, _MOST_LISTED = 20, 8, 20
_CHECKS = ("sha256", "data_sha256", "head", "fingerprint", "facts")


def tell_ticket(seen: TicketSeen, words: Catalogue, now: datetime) -> Told:
    """Everything that the page of a ticket shows."""
    ticket, runs = seen.ticket, list(reversed(seen.runs))[:MOST_RUNS]
    photos = list(reversed(ticket.photos))
    more = len(photos) - MOST_PHOTOS
    count = TicketTerm.RUNS_TOLD(shown_count=len(runs), runs_count=len(seen.runs))
    return {
        "name": seen.name,
        "number": one_line(ticket.number, 40),
        "closed": bool(ticket.closed),
        "marks": marks(seen, words, now),
        "word": last_word(seen, words),
        "facts": _facts(seen, words),
        "next": next_step_told(seen.worked_out, words),
        "owed": owed_lines(seen.worked_out, words, now, _MOST_OWED),
        "runs_told": words.say(count) if len(seen.runs) > 1 else "",
        "runs": [_run(run, words) for run in runs],
        "stages": _stages(runs, words),
        "handed_over": [_file(seen.name, name) for name in seen.handed_over],
        "photos": [_photo(seen, photo, words) for photo in photos[:MOST_PHOTOS]],
        "more_photos": words.say(TicketTerm.MORE_PHOTOS(photos_count=more)) if more > 0 else "",
        "story": _story(seen, words),
    }


def _facts(seen: TicketSeen, words: Catalogue) -> list[list[str]]:
    """Label and text of what came in and was done, without what nobody told."""
    ticket, intake = seen.ticket, seen.ticket.intake
    promised = intake.get("promised", "")
    damage = [
        words.say(TicketTerm.DAMAGE(where=d.where, what=d.what, note=d.note))
        for d in ticket.damage[:_MOST_LISTED]
    ]
    told = {
        TicketTerm.CUSTOMER: intake.get("customer", ""),
        TicketTerm.CARD: intake.get("card", ""),
        TicketTerm.FAULT: intake.get("fault", ""),
        TicketTerm.PROMISED_FOR: words.day(promised) if promised else "",
        TicketTerm.SEEN: "; ".join(one_line(line, 80) for line in damage),
        TicketTerm.REPAIRED: "; ".join(
            one_line(repair.what, 80) for repair in ticket.repairs[:_MOST_LISTED]
        ),
    }
    return [[words.say(term()), one_line(text, 600)] for term, text in told.items() if text]


def _run(run: RunSeen, words: Catalogue) -> Told:
    return {
        "name": run.name,
        "began": words.moment(run.run.started_utc),
        "title": _run_title(run, words),
        "word": run_word(run, words),
        "files": [_file(run.name, name) for name in run.files],
    }


def _file(above: str, name: str) -> Told:
    return {"of": above, "name": name, "text": Path(name).name}


def _run_title(run: RunSeen, words: Catalogue) -> str:
    """What the run was, and where its card sat."""
    title, place = one_line(words.word(run.run.profile.title), 60), place_of(run.run, words)
    return f"{title}, {place}" if place else title


def _stages(runs: list[RunSeen], words: Catalogue) -> list[Told]:
    """A row a stage: its title, and its mark in each run, in the order of the runs."""
    rows: dict[tuple[str, str], dict[str, StageRow]] = {}
    for run in reversed(runs):
        for stage in run.run.stages:
            rows.setdefault((stage.kind, stage.own_title), {})[run.name] = stage
    return [
        {
            "title": one_line(words.stage(kind, own_title), 60),
            "marks": [_mark(found.get(run.name), words) for run in runs],
        }
        for (kind, own_title), found in rows.items()
    ]


def _mark(stage: StageRow | None, words: Catalogue) -> Mapping[str, str]:
    if stage is None:
        return {"text": words.say(TicketTerm.NOT_IN_RUN()), "kind": "none"}
    mark = stage_mark(stage.verdict, words)
    return {"text": mark.word, "kind": KINDS[mark.shape]}


def _photo(seen: TicketSeen, photo: Photo, words: Catalogue) -> Told:
    named = TicketTerm.PHOTO_NAMED(original=photo.original, note=photo.note)
    return {
        "file": photo.file,
        "text": one_line(words.say(named) if photo.note else photo.original, 120),
        "for_customer": words.say(TicketTerm.FOR_CUSTOMER()) if photo.for_customer else "",
        "gone": words.say(TicketTerm.PHOTO_GONE()) if is_gone(seen.ticket, photo) else "",
    }


def _story(seen: TicketSeen, words: Catalogue) -> list[str]:
    """The newest events; what only a machine compares is left to `burnin ticket show`."""
    told = []
    for event in story(seen, _MOST_STORY):
        fields = {name: value for name, value in event.fields.items() if name not in _CHECKS}
        note = words.say(event_note(replace(event, fields=fields)))
        told.append(one_line(f"{words.moment(event.time_utc)}: {note}", 200))
    return told
