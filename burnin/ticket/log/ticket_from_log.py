"""A ticket made from its log: each kind of event changes it in one way.

Fields of the events are data: identifiers, numbers, moments, and what people typed. Events of
kinds that are not known here are passed over, so that an older tool reads a newer log.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from burnin.core.clock import moment_of
from burnin.core.errors import RecordError
from burnin.record.event_log import Log, LogEvent
from burnin.ticket.log.corrections import CORRECTIONS, repairs_entered
from burnin.ticket.log.fields import WrongField, number_of, table_of, text_of, texts_of
from burnin.ticket.log.refusals import LogRefusal
from burnin.ticket.log.whole_ticket import (
    BOUND,
    INTAKE_FIELDS,
    SMOKE,
    CardEvent,
    Damage,
    Deferral,
    FirstLight,
    HandedOver,
    Measured,
    NowEvent,
    Override,
    Photo,
    Repair,
    RunListed,
    WholeTicket,
)

LOG = Path("ticket") / "events.jsonl"
_OLD_POINTS = {"smell or smoke": SMOKE}
_OLD_FILES = {"by hand": ""}
"""What logs held before these had names of their own."""
_REPLACED = 0
"""In the place of a repair's number where a part of the card was replaced."""


def fold(folder: Path, log: Log) -> WholeTicket | None:
    """The ticket as of the end of its log, None where it was never opened.

    Raises RecordError, with the event and its field, where one holds what this tool never writes.
    """
    ticket: WholeTicket | None = None
    for number, event in enumerate(log.events, start=1):
        try:
            _check_moment(event)
            ticket = _opened(folder, event) if ticket is None else _next(ticket, event)
        except WrongField as error:
            raise RecordError(
                LogRefusal.WRONG_EVENT(
                    file=str(folder / LOG), event=number, kind=event.kind, why=error.reason
                )
            ) from None
    return replace(ticket, flaws=log.flaws) if ticket else None


def _check_moment(event: LogEvent) -> None:
    if moment_of(event.time_utc) is None:
        raise WrongField(LogRefusal.NOT_A_MOMENT(text=event.time_utc))


def _opened(folder: Path, event: LogEvent) -> WholeTicket | None:
    if event.kind != "opened":
        return None
    return WholeTicket(
        folder,
        text_of(event, "number"),
        event.time_utc,
        {name: text_of(event, name) for name in INTAKE_FIELDS},
        expedited=bool(event.fields.get("expedited")),
        simulated=bool(event.fields.get("simulated")),
        runs_listed=bool(event.fields.get("runs_listed")),
        head_kept=bool(event.fields.get("head_kept")),
    )


def _next(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    change = _CHANGES.get(event.kind)
    return change(ticket, event) if change else ticket


def _corrected(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    fresh = {n: text_of(event, n) for n in INTAKE_FIELDS if n in event.fields}
    expedited = event.fields.get("expedited", ticket.expedited)
    before = ticket.intake.get("profile", "")
    left = (before,) if before and fresh.get("profile", before) != before else ()
    return replace(
        ticket,
        intake={**ticket.intake, **fresh},
        expedited=bool(expedited),
        former_profiles=tuple(dict.fromkeys((*ticket.former_profiles, *left))),
    )


def _seen(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    damage = Damage(text_of(event, "where"), text_of(event, "what"), text_of(event, "note"))
    return replace(ticket, damage=(*ticket.damage, damage))


def _photo(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    photo = Photo(
        text_of(event, "file"),
        text_of(event, "sha256"),
        text_of(event, "original"),
        text_of(event, "note"),
        bool(event.fields.get("for_customer")),
    )
    return replace(ticket, photos=(*ticket.photos, photo))


def _measured(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    value = Measured(
        text_of(event, "point"),
        number_of(event, "value"),
        text_of(event, "unit"),
        max(0.0, number_of(event, "uncertainty") or 0.0),
        _file(event),
        event.time_utc,
        event.by,
    )
    return replace(ticket, measured=(*ticket.measured, value))


def _file(event: LogEvent) -> str:
    """The file that a value came from; what was typed once said so in the file's place."""
    source = text_of(event, "source")
    return text_of(event, "file") or _OLD_FILES.get(source, source)


def _overruled(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    named = text_of(event, "point")
    point = _OLD_POINTS.get(named, named)
    made = Override(point, text_of(event, "reason"), event.by, event.time_utc)
    return replace(ticket, overrides=(*ticket.overrides, made))


def _repaired(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    made = Repair(
        text_of(event, "what"),
        texts_of(event, "contacts"),
        texts_of(event, "patches"),
        text_of(event, "cured_utc"),
        event.time_utc,
        event.by,
        number=repairs_entered(ticket) + 1,
    )
    return replace(_worked_on(ticket, made.number), repairs=(*ticket.repairs, made))


def _worked_on(ticket: WholeTicket, work: int) -> WholeTicket:
    """What runs have shown until now says nothing of the card any more.

    In the order of the log, whatever clocks say: a run that is going on has begun before.
    """
    runs = {n: replace(r, works_since=r.works_since | {work}) for n, r in ticket.runs.items()}
    return replace(ticket, runs=runs)


def _deferred(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    stage = text_of(event, "stage")
    made = Deferral(stage, text_of(event, "reason"), text_of(event, "from_utc"), event.by)
    return replace(ticket, deferrals={**ticket.deferrals, stage: made})


def _undeferred(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    stage = text_of(event, "stage")
    return replace(ticket, deferrals={k: v for k, v in ticket.deferrals.items() if k != stage})


def _first_light(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    made = FirstLight(
        {str(k): str(v) for k, v in table_of(event, "answers").items()},
        bool(event.fields.get("ended_at_once")),
        event.time_utc,
        event.by,
    )
    return replace(ticket, first_lights=(*ticket.first_lights, made))


def _noted(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    note = (event.time_utc, event.by, text_of(event, "text"))
    return replace(ticket, notes=(*ticket.notes, note))


def _no_fix(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    return replace(ticket, no_fix=text_of(event, "reason"))


def _handed_over(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    made = HandedOver(
        text_of(event, "folder"),
        text_of(event, "verdict"),
        text_of(event, "fingerprint"),
        event.time_utc,
    )
    return replace(ticket, handed_over=(*ticket.handed_over, made))


def _bound(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    return _with_card_event(ticket, event, BOUND)


def _replaced(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    return _with_card_event(_worked_on(ticket, _REPLACED), event, text_of(event, "what"))


def _with_card_event(ticket: WholeTicket, event: LogEvent, what: str) -> WholeTicket:
    made = CardEvent(
        what,
        bool(event.fields.get("simulated")),
        table_of(event, "facts"),
        text_of(event, "note"),
        event.time_utc,
        event.by,
    )
    return replace(ticket, card_events=(*ticket.card_events, made))


def _run_begun(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    run = text_of(event, "run")
    there = ticket.runs.get(run)
    made = RunListed(
        run,
        bool(event.fields.get("simulated")),
        bool(event.fields.get("other_card")),
        works_since=there.works_since if there else frozenset(),
    )
    return replace(ticket, runs={**ticket.runs, run: made})


def _run_ended(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    run = text_of(event, "run")
    there = ticket.runs.get(run)
    if there is None:
        return ticket
    made = replace(
        there,
        ended=True,
        verdict=text_of(event, "verdict"),
        head=text_of(event, "head"),
        data_sha256=text_of(event, "data_sha256"),
    )
    return replace(ticket, runs={**ticket.runs, run: made})


def _run_now(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    made = NowEvent(
        text_of(event, "run"), text_of(event, "reason"), texts_of(event, "stages"), event.time_utc,
        event.by,
    )  # fmt: skip
    return replace(ticket, nows=(*ticket.nows, made))


def _closed(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    return replace(ticket, closed=event.time_utc)


def _reopened(ticket: WholeTicket, event: LogEvent) -> WholeTicket:  # noqa: ARG001
    return replace(ticket, closed="", no_fix="")


_CHANGES = {
    "corrected": _corrected,
    "seen": _seen,
    "photo": _photo,
    "measured": _measured,
    "overridden": _overruled,
    "repaired": _repaired,
    **CORRECTIONS,
    "deferred": _deferred,
    "undeferred": _undeferred,
    "first_light": _first_light,
    "noted": _noted,
    "no_fix": _no_fix,
    "handed_over": _handed_over,
    "bound": _bound,
    "replaced": _replaced,
    "run_begun": _run_begun,
    "run_ended": _run_ended,
    "run_now": _run_now,
    "closed": _closed,
    "reopened": _reopened,
}
