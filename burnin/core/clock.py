"""The time: monotonic in measurements, UTC in records, and handed in so that tests own it."""

from __future__ import annotations

import math
import time
from datetime import UTC, datetime
from typing import Protocol


class Clock(Protocol):
    """A source of time; the simulated machine brings its own."""

    def monotonic_s(self) -> float:
        """Seconds since an arbitrary start; never runs backwards."""
        ...

    def utc(self) -> datetime:
        """The present moment, with its time zone (UTC)."""
        ...

    def sleep_s(self, seconds: float) -> None:
        """Let `seconds` pass (0 or more)."""
        ...


class WallClock:
    """The bench's own clock."""

    def monotonic_s(self) -> float:
        """Seconds since an arbitrary start; never runs backwards."""
        return time.monotonic()

    def utc(self) -> datetime:
        """The present moment, with its time zone (UTC)."""
        return datetime.now(UTC)

    def sleep_s(self, seconds: float) -> None:
        """Let `seconds` pass (0 or more)."""
        time.sleep(max(0.0, seconds))


def moment_of(text: str) -> datetime | None:
    """A moment in UTC out of ISO-8601 text, None for anything else.

    Text without a zone is taken for UTC; a moment that a zone moves out of the calendar is none.
    """
    try:
        found = datetime.fromisoformat(text.replace("Z", "+00:00"))
        return found.astimezone(UTC) if found.tzinfo else found.replace(tzinfo=UTC)
    except (ValueError, OverflowError):
        return None


def iso(moment: datetime) -> str:
    """A moment as UTC ISO-8601 with milliseconds, e.g. ``2026-03-02T09:15:00.000Z``."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.") + (
        f"{moment.microsecond // 1000:03d}Z"
    )


def duration(seconds: float) -> str:
    """``95`` as ``1 min 35 s``."""
    if not math.isfinite(seconds):
        return f"{seconds:g} s"
    whole = round(seconds)
    if whole < 90:
        return f"{whole} s"
    minutes, rest = divmod(whole, 60)
    return f"{minutes} min {rest} s" if rest and minutes < 10 else f"{minutes} min"
