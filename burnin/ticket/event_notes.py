"""The lines of a ticket's log as notes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from burnin.core.meaning import Note, Term, Value
from burnin.record.event_log import LogEvent
from burnin.ticket.before_power.meanings import PointTerm
from burnin.ticket.before_power.shown_quantity import shown_quantity
from burnin.ticket.bound_card.facts import fact_terms, facts_kept
from burnin.ticket.first_light.kept import answers_told
from burnin.ticket.log.corrections import CURE, VALUE_BACK
from burnin.ticket.log.whole_ticket import SMOKE, Correction, NowEvent, Override
from burnin.ticket.meanings import (
    CureTerm,
    EventNote,
    FieldAnswer,
    FieldOfNewerTool,
    FieldTerm,
    SlipNote,
    TicketNote,
    TicketTerm,
)

_EVENTS = {note.value: note for note in EventNote}
_FIELDS = {term.value: term for term in FieldTerm}
_TOLD_EMPTY = {"measured": ("value",), VALUE_BACK: ("value",), CURE: ("cured_utc",)}
"""Fields that say something where they are empty: no value shown, nothing to cure."""
_NOT_TOLD = ("runs_listed", "head_kept")
"""Fields that are about the log itself."""


def story(events: Iterable[LogEvent]) -> Iterator[tuple[LogEvent, Note]]:
    """Every event with its note, in order; repairs with the number by which they are called."""
    repairs = 0
    for event in events:
        if event.kind == "repaired":
            repairs += 1
            numbered = replace(event, fields={"repair": repairs, **event.fields})
            yield event, event_note(numbered)
        else:
            yield event, event_note(event)


def correction_note(made: Correction, *, was_short: bool) -> Note:
    """What was taken back or put right, as it was, by whom and when, in whose words."""
    data: dict[str, Value] = {
        "by": made.by or TicketTerm.SOMEBODY(), "time_utc": made.time_utc, "words": made.words
    }  # fmt: skip
    if made.value is not None:
        slip = made.value
        code = SlipNote.SHORT_BACK if was_short else SlipNote.VALUE_BACK
        return code(
            point=slip.point,
            was=shown_quantity(slip.value, slip.unit),
            measured_by=slip.by or TicketTerm.SOMEBODY(),
            measured_utc=slip.time_utc,
            **data,
        )
    assert made.repair is not None  # one of the two stands there
    data |= {"repair": made.repair.number, "what": made.repair.what}
    if made.cured_utc is None:
        return SlipNote.REPAIR_BACK(**data)
    return SlipNote.CURE(was=_cure(made.repair.cured_utc), now=_cure(made.cured_utc), **data)


def _cure(cured_utc: str) -> Term:
    return CureTerm.UNTIL(until_utc=cured_utc) if cured_utc else CureTerm.NOTHING()


def event_note(event: LogEvent) -> Note:
    """One event of the log with every field that says something."""
    of_damage = event.kind == "seen"
    fields = tuple(
        FieldTerm.CURED_NOTHING()
        if event.kind == CURE and name == "cured_utc" and not value
        else _field(f"seen_{name}" if of_damage and name in ("where", "what") else name, value)
        for name, value in event.fields.items()
        if (value or name in _TOLD_EMPTY.get(event.kind, ())) and name not in _NOT_TOLD
    )
    known = _EVENTS.get(f"event_{event.kind}")
    if known is None or known is EventNote.OF_NEWER_TOOL:
        return EventNote.OF_NEWER_TOOL(kind=event.kind, fields=fields)
    return known(fields=fields)


def overruled_note(override: Override) -> Note:
    """What was overruled in writing, by whom and when, in whose words."""
    point: Value = PointTerm.SMOKE() if override.point == SMOKE else override.point
    data = {"time_utc": override.time_utc, "point": point, "words": override.words}
    if override.by:
        return TicketNote.OVERRULED(by=override.by, **data)
    return TicketNote.OVERRULED_UNNAMED(**data)


def before_time_note(made: NowEvent) -> Note:
    """Which stages were carried out before their time, by whom and when, in whose words."""
    data: dict[str, Value] = {
        "time_utc": made.time_utc,
        "stages": made.stages,
        "words": made.words,
    }
    if made.by:
        return TicketNote.DONE_BEFORE_TIME(by=made.by, **data)
    return TicketNote.DONE_BEFORE_TIME_UNNAMED(**data)


def _field(name: str, value: object) -> Term:
    known = _FIELDS.get(f"field_{name}")
    told = fact_terms(facts_kept(value)) if name == "facts" else _told(value)
    return known(value=told) if known else FieldOfNewerTool.FIELD(name=name, value=told)


def _told(value: object) -> Value:
    """A value out of JSON; answers of first light come under their names."""
    if isinstance(value, Mapping):
        return answers_told({str(key): str(answer) for key, answer in value.items()})
    if value is None:  # a meter that shows no value: over its range
        return FieldAnswer.OPEN()
    if isinstance(value, list):
        return tuple(str(part) for part in value)
    if value is True:
        return FieldAnswer.SO()
    return value if isinstance(value, str | int | float) else str(value)
