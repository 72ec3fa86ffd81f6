"""Moments of a record, read back."""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError


def moment_of(iso_text: str) -> datetime | None:
    """A UTC ISO-8601 moment, None for anything else."""
    try:
        found = datetime.fromisoformat(iso_text.replace("Z", "+00:00"))
    except ValueError:
        return None
    return found.replace(tzinfo=UTC) if found.tzinfo is None else found.astimezone(UTC)


def zone_named(name: str) -> ZoneInfo:
    """A time zone of the IANA database; UTC where it is not known here."""
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return ZoneInfo("UTC")


def run_time(seconds: float) -> str:
    """Seconds as ``9 min 42 s`` or ``1 h 05 min``."""
    whole = round(max(0.0, seconds))
    if whole < 60:
        return f"{whole} s"
    minutes, rest = divmod(whole, 60)
    if minutes < 60:
        return f"{minutes} min {rest:02d} s"
    hours, minutes = divmod(minutes, 60)
    return f"{hours} h {minutes:02d} min"
