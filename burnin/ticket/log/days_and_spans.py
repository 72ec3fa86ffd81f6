"""Days and spans of time as a person types and reads them."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta

from burnin.core import clock
from burnin.core.clock import iso
from burnin.core.errors import BadInput
from burnin.core.meaning import Term, TermCode
from burnin.ticket.log.refusals import LogRefusal

_UNITS = {
    60.0: r"min(?:ute[ns]?)?",
    3600.0: r"h(?:ours?)?|std\.?|stunden?",
    86400.0: r"d(?:ays?)?|tage?n?",
}
"""Seconds of a unit, as English and German write it."""
_SPAN = re.compile(
    rf"\s*\+?\s*(\d+(?:[.,]\d+)?)\s*({'|'.join(_UNITS.values())})\s*", re.IGNORECASE
)
_GERMAN_DAY = re.compile(r"(\d{1,2})\. ?(\d{1,2})\. ?(\d{4})")
_LONGEST_S = 366 * 86400.0


class SpanTerm(TermCode):
    """Spans of time."""

    MINUTES = "span_min", "minutes"
    HOURS = "span_h", "hours"
    DAYS = "span_d", "days"


def utc_now() -> datetime:
    """The present moment, in UTC."""
    return datetime.now(UTC)


def parse_day(text: str) -> str:
    """A day such as ``2026-03-10`` or ``10.3.2026``, or empty; raises BadInput."""
    if not text.strip():
        return ""
    german = _GERMAN_DAY.fullmatch(text.strip())
    try:
        if german:
            return date(int(german[3]), int(german[2]), int(german[1])).isoformat()
        return date.fromisoformat(text.strip()).isoformat()
    except ValueError:
        raise BadInput(LogRefusal.NO_DAY(text=text)) from None


def parse_span_s(text: str) -> float:
    """Seconds of a span such as ``24 h``, ``20 min``, ``2 Tage``; raises BadInput."""
    found = _SPAN.fullmatch(text)
    if not found:
        raise BadInput(LogRefusal.NO_SPAN(text=text))
    unit_s = next(s for s, unit in _UNITS.items() if re.fullmatch(unit, found[2], re.IGNORECASE))
    seconds = float(found[1].replace(",", ".")) * unit_s
    if seconds > _LONGEST_S:
        raise BadInput(LogRefusal.TOO_LONG(text=text))
    return seconds


def parse_from(text: str, now: datetime) -> str:
    """From when something may be done: a day, a moment, or a span from now; empty stays empty.

    UTC ISO-8601. Raises BadInput.
    """
    if not text.strip():
        return ""
    if _SPAN.fullmatch(text):
        return iso(now + timedelta(seconds=parse_span_s(text)))
    try:
        moment = datetime.fromisoformat(text.strip().replace("Z", "+00:00"))
        return iso(moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment)
    except (ValueError, OverflowError):
        raise BadInput(LogRefusal.NO_MOMENT(text=text)) from None


def moment_of(text: str) -> datetime:
    """A moment out of a record; the earliest there is where it is none."""
    return clock.moment_of(text) or datetime.min.replace(tzinfo=UTC)


def span(seconds: float) -> Term:
    """A span of time as a person tells it: in minutes, hours or days."""
    if seconds < 5400.0:
        return SpanTerm.MINUTES(minutes=seconds / 60.0)
    if seconds < 172_800.0:
        return SpanTerm.HOURS(hours=seconds / 3600.0)
    return SpanTerm.DAYS(days=seconds / 86400.0)
