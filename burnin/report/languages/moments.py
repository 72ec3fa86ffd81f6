"""Moments of a record, read back."""

from __future__ import annotations

from zoneinfo import ZoneInfo, ZoneInfoNotFoundError


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
