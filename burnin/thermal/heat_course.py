"""Whether the die came to rest under an even load, or went on rising as a block without a loop."""

from __future__ import annotations

from dataclasses import dataclass, field

from burnin.core.reading import known
from burnin.core.sample import Sample, Slowdown

MOST_KEPT = 2_000
"""Points of a stretch; where there are more, every second one is let go. A point stays a mean."""
_LEAST_SHARE = 0.15
"""Of full work: 70 W on a card of 450 W warm a dry block of 400 J/K by 0.17 K/s, which is told."""
_SETTLES_S = 4.0
"""A die takes its own kelvin over the block within that (time constant of about 1 s)."""
_LEAST_S = 6.5
_RISES_K = 1.5
"""Least rise of the last third, K: sensors step by 1, and each point is a mean of several."""
_RISES_K_PER_S = 0.15
"""Least rate of it. 450 W warm the 2 kg of water of a sound loop by 0.05 K/s, a dry block of some
400 J/K by 1 K/s (water: 4.19 kJ/(kg K); the block an estimate)."""
_MOST_J_PER_K = 2_000.0
"""What takes all heat up warms by power over this at the least: 2.2 kg of aluminium
(0.90 kJ/(kg K)), more than a card carries. Slower is the room's doing: a neighbour's warm air."""
_KEEPS = 0.75
"""Share of the rise of the third before it. A sound heatsink with a time constant of 32 s, the
slowest of the simulated ones, keeps about 0.7 after 40 s; a block without a way out keeps 1."""


@dataclass
class HeatCourse:
    """Follows the die through stretches of one load; `keeps_rising` is of the longest stretch.

    None where no load stood for long enough.
    """

    keeps_rising: bool | None = None
    _longest_s: float = 0.0
    _load: tuple[str, float, float | None] | None = None
    _course: list[tuple[float, float]] = field(default_factory=list)
    _powers_w: list[float] = field(default_factory=list)
    _every: int = 1
    _seen: int = 0

    def add(self, sample: Sample) -> None:
        """Take in one sample."""
        slowed = known(sample.telemetry.throttle_reasons) or ()
        # A card that slows itself for heat draws less: it rests at that, and no cooler made it.
        even = Slowdown.HEAT not in slowed
        working = sample.present and even and sample.load_share >= _LEAST_SHARE
        # A power that is held takes another share of work at every moment.
        share = 0.0 if sample.load_w is not None else sample.load_share
        load = (sample.stage, share, sample.load_w) if working else None
        if load != self._load:
            self.end()
            self._load = load
        temp_c = known(sample.telemetry.gpu_temp_c)
        if load is not None and temp_c is not None:
            self._keep(sample.elapsed_s, temp_c, known(sample.telemetry.power_w))

    def _keep(self, at_s: float, temp_c: float, power_w: float | None) -> None:
        if self._seen % self._every == 0:
            self._course.append((at_s, temp_c))
            if power_w is not None:
                self._powers_w.append(power_w)
            if len(self._course) >= MOST_KEPT:
                self._course, self._every = self._course[::2], 2 * self._every
                self._powers_w = self._powers_w[::2]
        self._seen += 1

    def end(self) -> None:
        """The stretch is over: judge it where it is the longest so far."""
        course, self._course, self._load = self._course, [], None
        powers_w, self._powers_w = self._powers_w, []
        self._every, self._seen = 1, 0
        if not course:
            return
        from_s, to_s = course[0][0] + _SETTLES_S, course[-1][0]
        length_s = to_s - from_s
        if length_s < _LEAST_S or length_s <= self._longest_s:
            return
        third_s = length_s / 3.0
        first, second, last = (
            _around(course, from_s + number * third_s, third_s / 4.0) for number in (1, 2, 3)
        )
        if first is None or second is None or last is None:
            return
        self._longest_s = length_s
        before_k, after_k = second - first, last - second
        power_w = sum(powers_w) / len(powers_w) if powers_w else 0.0
        least_k_per_s = max(_RISES_K_PER_S, power_w / _MOST_J_PER_K)
        least_k = max(_RISES_K, least_k_per_s * third_s, _KEEPS * before_k)
        self.keeps_rising = after_k >= least_k


def _around(course: list[tuple[float, float]], at_s: float, within_s: float) -> float | None:
    """Mean temperature around a moment."""
    near = [temp_c for when_s, temp_c in course if abs(when_s - at_s) <= within_s]
    return sum(near) / len(near) if near else None
