"""How long each fan of a card stood still although it was asked to turn."""

from __future__ import annotations

from dataclasses import dataclass

from burnin.core.reading import NotMeasured, known
from burnin.core.sample import FAN_NAMES, Telemetry

FAN_ASKED_PCT = 25.0
"""Below this many fans stand still on purpose; common practice, no source."""


@dataclass
class _Fan:
    stood_from_s: float | None = None
    stood_s: float | None = None
    unread: NotMeasured | None = None


class FanWatch:
    """Sees every row; fans are counted from 1.

    A fan whose own setting nobody tells is asked what the first is asked that tells one: a driver
    of several fans on one setting shows it once.
    """

    def __init__(self) -> None:
        self._fans = tuple(_Fan() for _ in FAN_NAMES)

    def see(self, now_s: float, told: Telemetry) -> None:
        """Take in one row; a fan that is not read keeps what it had."""
        settings = [known(getattr(told, pct)) for _, pct in FAN_NAMES]
        shared = next((pct for pct in settings if pct is not None), None)
        for fan, (rpm_name, _), own in zip(self._fans, FAN_NAMES, settings, strict=True):
            rpm, asked = getattr(told, rpm_name), shared if own is None else own
            if isinstance(rpm, NotMeasured):
                fan.unread = rpm
            elif asked is not None:
                self._turns(fan, now_s, rpm > 0.0 or asked < FAN_ASKED_PCT)

    @staticmethod
    def _turns(fan: _Fan, now_s: float, as_asked: bool) -> None:
        fan.stood_s = fan.stood_s or 0.0
        if as_asked:
            fan.stood_from_s = None
            return
        if fan.stood_from_s is None:
            fan.stood_from_s = now_s
        fan.stood_s = max(fan.stood_s, now_s - fan.stood_from_s)

    def stood_s(self, number: int) -> float | None:
        """The longest that this fan stood at a stretch, s; None where nobody could tell."""
        return self._fans[number - 1].stood_s if number <= len(self._fans) else None

    def why_unread(self, number: int) -> NotMeasured | None:
        """Why this fan's speed was not read last; None where it always was."""
        return self._fans[number - 1].unread if number <= len(self._fans) else None

    @property
    def told_count(self) -> int:
        """The number of the last fan that told its speed and setting; 0: none did."""
        return max((n for n, fan in enumerate(self._fans, 1) if fan.stood_s is not None), default=0)
