"""Fields of a log's events, read with their kind: what this tool never writes is named."""

from __future__ import annotations

from burnin.core.meaning import Reason
from burnin.core.plain import finite
from burnin.record.event_log import LogEvent
from burnin.ticket.log.refusals import LogRefusal


class WrongField(ValueError):
    """A field holds what this tool never writes there."""

    def __init__(self, reason: Reason) -> None:
        super().__init__(reason)
        self.reason = reason


def text_of(event: LogEvent, name: str) -> str:
    """The field as a text, empty where there is none."""
    value = event.fields.get(name)
    if value is not None and not isinstance(value, str):
        raise WrongField(LogRefusal.NOT_TEXT(field=name, text=str(value)))
    return value or ""


def texts_of(event: LogEvent, name: str) -> tuple[str, ...]:
    """The field as texts, none where there are none."""
    value = event.fields.get(name)
    if value is None:
        return ()
    if not isinstance(value, list) or not all(isinstance(part, str) for part in value):
        raise WrongField(LogRefusal.NOT_TEXTS(field=name, text=str(value)))
    return tuple(value)


def number_of(event: LogEvent, name: str) -> float | None:
    """The field as a number, None where there is none."""
    value = event.fields.get(name)
    number = finite(value)
    if value is not None and number is None:
        raise WrongField(LogRefusal.NOT_A_NUMBER(field=name, text=type(value).__name__))
    return number


def table_of(event: LogEvent, name: str) -> dict[str, object]:
    """The field as a table, empty where there is none."""
    value = event.fields.get(name)
    if value is not None and not isinstance(value, dict):
        raise WrongField(LogRefusal.NOT_A_TABLE(field=name, text=str(value)))
    return value or {}
