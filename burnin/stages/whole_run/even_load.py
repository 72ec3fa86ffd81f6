"""Stretches in which a load was held evenly: whether the clock fell in one without a reason."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from statistics import median

from burnin.core.reading import NotMeasured, known
from burnin.core.sample import Sample
from burnin.stages.whole_run.spans import Span

MOST_KEPT = 2_000
"""Clocks of a stretch; where there are more, every second one is let go."""
_LEAST_S = 12.0
_SETTLES_S = 3.0
_FULL_SHARE = 0.9


@dataclass(frozen=True)
class ClockHeld:
    """Core clock at the beginning and the end of an even load, MHz, and the span that it was."""

    from_mhz: float
    to_mhz: float
    span: Span[str]

    @property
    def share(self) -> float:
        """The end over the beginning."""
        return self.to_mhz / self.from_mhz


@dataclass
class EvenLoad:
    """Follows the clock under full load, stage by stage; `worst` is the stretch that fell most."""

    worst: ClockHeld | None = None
    _clocks: list[tuple[float, float]] = field(default_factory=list)
    _span: Span[str] | None = None
    _explained: bool = False
    _every: int = 1
    _seen: int = 0

    def add(self, sample: Sample) -> None:
        """Take in one sample; a stretch ends where load or stage changes."""
        even = sample.present and sample.load_share >= _FULL_SHARE and sample.load_w is None
        if not even or self._span is None or self._span.stage != sample.stage:
            self.end()
            if not even:
                return
            self._span = Span.begin("", sample)
        self._span.add(sample)
        slowed = sample.telemetry.throttle_reasons
        if not isinstance(slowed, NotMeasured) and slowed:
            self._explained = True
        clock = known(sample.telemetry.core_clock_mhz)
        if clock is not None and clock > 0.0:
            self._keep(sample.elapsed_s, clock)

    def _keep(self, at_s: float, clock_mhz: float) -> None:
        if self._seen % self._every == 0:
            self._clocks.append((at_s, clock_mhz))
            if len(self._clocks) >= MOST_KEPT:
                self._clocks, self._every = self._clocks[::2], 2 * self._every
        self._seen += 1

    def end(self) -> None:
        """The stretch is over: keep it where it is the worst so far."""
        span, clocks, explained = self._span, self._clocks, self._explained
        self._span, self._clocks, self._explained = None, [], False
        self._every, self._seen = 1, 0
        if span is None or explained or span.to_s - span.from_s < _LEAST_S:
            return
        settled = [value for at_s, value in clocks if at_s >= span.from_s + _SETTLES_S]
        if len(settled) < 6:
            return
        held = ClockHeld(_first(settled), _last(settled), span)
        if self.worst is None or held.share < self.worst.share:
            self.worst = held


def _first(values: Sequence[float]) -> float:
    return median(values[: len(values) // 3])


def _last(values: Sequence[float]) -> float:
    return median(values[-(len(values) // 3) :])
