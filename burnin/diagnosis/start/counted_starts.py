"""Cold starts that a record counted."""

from __future__ import annotations

from burnin.core.meaning import Meaning
from burnin.record.reader import Record

_MOST = 1000.0
"""More starts than that are an edited file's."""


def counted_starts(record: Record) -> tuple[bool, ...]:
    """Which of them came up and which hung; empty where none were counted. A start at which the
    link failed tells of the link, and the newest of them is among its looks."""
    readings = {r.name: r for r in record.all_readings}
    hung, share = readings.get("hung_starts"), readings.get("sound_starts_share")
    if hung is None or share is None or not isinstance(share.source, Meaning):
        return ()
    bad, count = _number(hung.value), _number(dict(share.source.data).get("starts_count"))
    if bad is None or count is None or not 0.0 <= bad <= count <= _MOST:
        return ()
    return (False,) * int(bad) + (True,) * int(count - bad)


def _number(value: object) -> float | None:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return float(value) if value < _MOST * 2.0 else None
