"""When something of a night may begin: from, until, and the hours in which nothing does."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

from burnin.cli.night.queue_file import QueueFile

_DAY, _HALF_DAY = timedelta(days=1), timedelta(hours=12)


@dataclass(frozen=True)
class Hours:
    """The hours of one night, in UTC; `quiet` are spans of the day in `zone`."""

    begins: datetime
    until: datetime | None
    quiet: tuple[tuple[time, time], ...]
    zone: str

    def not_before(self, now: datetime) -> datetime | None:
        """When something may begin next; None: now."""
        if now < self.begins:
            return self.begins
        local = now.astimezone(ZoneInfo(self.zone))
        ends = [_end_of(local, span) for span in self.quiet if _inside(local.time(), span)]
        return max(ends).astimezone(UTC) if ends else None

    def over(self, now: datetime) -> bool:
        """Whether nothing begins any more."""
        return self.until is not None and now >= self.until


def hours_of(queue: QueueFile, now: datetime, zone: str) -> Hours:
    """The hours of the night that goes on now, or comes next."""
    local = now.astimezone(ZoneInfo(zone))
    begins, until = local, None
    if queue.begins is not None:
        begins = _at(local, queue.begins)
        crosses = queue.until is not None and queue.until <= queue.begins
        if queue.until is not None and crosses and local < _at(local, queue.until):
            begins -= _DAY  # after midnight, in the night that began yesterday
        elif queue.until is not None and not crosses and local >= _at(local, queue.until):
            begins += _DAY
        elif queue.until is None and local - begins > _HALF_DAY:
            begins += _DAY  # typed in the evening: that of the coming night
    if queue.until is not None:
        until = _at(begins, queue.until)
        until += _DAY if until <= begins else timedelta(0)
    return Hours(
        begins.astimezone(UTC),
        None if until is None else until.astimezone(UTC),
        spans_of(queue.quiet),
        zone,
    )


def spans_of(quiet: Sequence[str]) -> tuple[tuple[time, time], ...]:
    """Spans of the day as they are counted with."""
    parts = (span.split("-") for span in quiet)
    return tuple((time.fromisoformat(begin), time.fromisoformat(end)) for begin, end in parts)


def _at(day: datetime, text: str) -> datetime:
    moment = time.fromisoformat(text)
    return day.replace(hour=moment.hour, minute=moment.minute, second=0, microsecond=0)


def _inside(now: time, span: tuple[time, time]) -> bool:
    begin, end = span
    return begin <= now < end if begin <= end else (now >= begin or now < end)


def _end_of(local: datetime, span: tuple[time, time]) -> datetime:
    end = local.replace(hour=span[1].hour, minute=span[1].minute, second=0, microsecond=0)
    return end if end > local else end + _DAY
