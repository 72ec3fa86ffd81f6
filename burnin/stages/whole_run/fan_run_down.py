"""Whether a fan that stands ran down as a rotor does, or was told as standing at once.

A rotor has inertia: from full speed it takes a second or more to stand. A tachometer whose wire
parts says nought from one sample to the next.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from burnin.core.reading import known
from burnin.core.sample import FAN_NAMES, Sample

_ASKED_PCT = 25.0
"""Below this many fans stand still on purpose; common practice, no source."""
_BELOW_SHARE = 0.85
"""Below this share of its speed a fan is on its way down: tachometers step by some percent."""
_LEAST_STEPS = 2
_LEAST_S = 0.3
"""So many speeds in between over so long are no flicker of a wire (estimate, no source)."""


@dataclass
class _Fall:
    top_rpm: float = 0.0
    last_rpm: float = 0.0
    steps: int = 0
    from_s: float = 0.0


@dataclass
class FanRunDown:
    """Sees every sample; `ran_down` are the fans, from 1, that ran down though they were asked."""

    ran_down: set[int] = field(default_factory=set)
    _falls: dict[int, _Fall] = field(default_factory=dict)

    def add(self, sample: Sample) -> None:
        """Take in one sample of a card that is there."""
        told = sample.telemetry
        settings = [known(getattr(told, pct)) for _, pct in FAN_NAMES]
        shared = next((pct for pct in settings if pct is not None), None)
        for number, ((name, _), own) in enumerate(zip(FAN_NAMES, settings, strict=True), 1):
            rpm, asked = known(getattr(told, name)), shared if own is None else own
            if rpm is not None and asked is not None and asked >= _ASKED_PCT:
                self._speed(number, rpm, sample.elapsed_s)
            else:
                self._falls.pop(number, None)

    def _speed(self, number: int, rpm: float, now_s: float) -> None:
        fall = self._falls.setdefault(number, _Fall(rpm, rpm, 0, now_s))
        if rpm >= _BELOW_SHARE * fall.top_rpm or rpm > fall.last_rpm:
            self._falls[number] = _Fall(rpm, rpm, 0, now_s)
        elif rpm > 0.0:
            fall.steps += rpm < fall.last_rpm
            fall.last_rpm = rpm
        elif fall.last_rpm > 0.0:
            fall.last_rpm = 0.0
            if fall.steps >= _LEAST_STEPS and now_s - fall.from_s >= _LEAST_S:
                self.ran_down.add(number)

    def gone_on(self) -> None:
        """Nobody watched for a while: how a fan came to stand meanwhile was not seen."""
        self._falls.clear()
