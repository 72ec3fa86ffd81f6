"""Intake, and what is changed on a ticket by hand later: checked whole before a line is written."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from burnin.core.errors import BadInput
from burnin.ticket.intake.damage_told import parse_damage
from burnin.ticket.intake.photos import add_photo, check_photo
from burnin.ticket.intake.refusals import IntakeRefusal
from burnin.ticket.log.days_and_spans import parse_day
from burnin.ticket.log.store import add, add_all, open_ticket
from burnin.ticket.log.whole_ticket import INTAKE_FIELDS, WholeTicket
from burnin.ticket.numbers import runs_of_number, ticket_of_number
from burnin.ticket.shop.shop_file import load_shop

_LANGUAGES = ("en", "de")


@dataclass(frozen=True)
class Intake:
    """What is taken down at the counter; `seen` holds texts such as ``B14-B17 missing``.

    `simulated`: there is no card; the ticket is about the simulated machine.
    """

    fields: Mapping[str, str]
    expedited: bool = False
    seen: tuple[str, ...] = ()
    photos: tuple[Path, ...] = ()
    simulated: bool = False


def take_in(
    results: Path, number: str, intake: Intake, *, by: str = "", now: datetime | None = None
) -> WholeTicket:
    """Open a ticket with everything that was given; raises BadInput before anything is written."""
    ticket_of_number(results, number)
    damage = [entry for text in intake.seen for entry in parse_damage(text)]
    for photo in intake.photos:
        if not photo.is_file():
            raise BadInput(IntakeRefusal.NO_PHOTO(file=str(photo)))
        check_photo(photo)
    shop = load_shop()
    fields = {
        **intake.fields,
        "profile": intake.fields.get("profile") or shop.default_profile,
        "technician": intake.fields.get("technician") or shop.technician,
    }
    checked = {name: _checked(name, value) for name, value in fields.items()}
    ticket = open_ticket(
        results,
        number,
        checked,
        expedited=intake.expedited,
        simulated=intake.simulated,
        runs=runs_of_number(results, number),
        by=by,
        now=now,
    )
    if damage:
        ticket = add_all(ticket, [("seen", entry) for entry in damage], by=by, now=now)
    for photo in intake.photos:
        ticket = add_photo(ticket, photo, by=by, now=now)
    return ticket


def add_damage(
    ticket: WholeTicket, texts: Sequence[str], *, by: str = "", now: datetime | None = None
) -> WholeTicket:
    """Put damage on a ticket; all of it or, with BadInput, nothing."""
    entries = [entry for text in texts for entry in parse_damage(text)]
    return add_all(ticket, [("seen", entry) for entry in entries], by=by, now=now)


def correct(
    ticket: WholeTicket, changes: Sequence[str], *, by: str = "", now: datetime | None = None
) -> WholeTicket:
    """Change intake fields, each as ``name=value``; raises BadInput."""
    fields: dict[str, object] = {}
    for change in changes:
        name, equals, value = change.partition("=")
        if name == "expedited" and value in ("yes", "no"):
            fields[name] = value == "yes"
            continue
        if not equals or name not in INTAKE_FIELDS:
            raise BadInput(IntakeRefusal.NO_FIELD(text=change, there=INTAKE_FIELDS))
        fields[name] = _checked(name, value)
    return add(ticket, "corrected", fields, by=by, now=now)


def _checked(name: str, value: str) -> str:
    if name == "promised":
        return parse_day(value)
    if name == "language" and value and value not in _LANGUAGES:
        raise BadInput(IntakeRefusal.NO_LANGUAGE(text=value, there=_LANGUAGES))
    if name == "profile" and value:
        from burnin.profile.loader import load_profile

        load_profile(value)
    return value


def give_up(
    ticket: WholeTicket, reason: str, *, by: str = "", now: datetime | None = None
) -> WholeTicket:
    """The card stays unrepaired; raises BadInput without a reason."""
    if not reason.strip():
        raise BadInput(IntakeRefusal.WHY_NO_REPAIR())
    return add(ticket, "no_fix", {"reason": reason.strip()}, by=by, now=now)
