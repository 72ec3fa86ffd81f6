"""Whether the sensors of temperature can be right: leaps that no heat makes."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field

from burnin.core.reading import NotMeasured, known
from burnin.core.sample import Sample
from burnin.guard.sample_trust import PACES, SampleReason
from burnin.stages.whole_run.difference_watch import DifferenceWatch

SIGNALS = ("gpu_temp_c", "hotspot_temp_c", "memory_temp_c")
_BEFORE_S = 2.0
"""So long before a leap power and load must have stood: sensors lag by less (estimate)."""
_POWER_STANDS_W = 20.0
_POWER_STANDS_SHARE = 0.1


@dataclass
class SensorWatch:
    """Sees every sample of a run after it was looked through (`guard.sample_trust`).

    `scattered`: by signal, how often a value leapt and came back; `leapt`: signals that leapt and
    stayed although power and load stood. A leap that a step of power may have made is neither.
    `difference`: follows the hot spot's lead over the die.
    """

    scattered: dict[str, int] = field(default_factory=dict)
    leapt: set[str] = field(default_factory=set)
    difference: DifferenceWatch = field(default_factory=DifferenceWatch)
    _waiting: dict[str, tuple[float, float]] = field(default_factory=dict)
    _recent: deque[tuple[float, float | None, float]] = field(default_factory=deque)

    def add(self, sample: Sample) -> None:
        """Take in one sample."""
        self.difference.add(sample)
        self._recent.append(
            (sample.elapsed_s, known(sample.telemetry.power_w), sample.load_share)
        )
        while sample.elapsed_s - self._recent[0][0] > _BEFORE_S:
            self._recent.popleft()
        for name in SIGNALS:
            value = getattr(sample.telemetry, name)
            if isinstance(value, NotMeasured):
                self._wait(name, value, sample.elapsed_s)
            elif name in self._waiting:
                self._settle(name, value, sample.elapsed_s)

    def gone_on(self) -> None:
        """Nobody watched for a while: a leap that waits is not told, as its end was not seen."""
        self._waiting.clear()
        self._recent.clear()
        self.difference.end()

    def _wait(self, name: str, why: NotMeasured, now_s: float) -> None:
        if not why.reason.means(SampleReason.UNSETTLED) or name in self._waiting:
            return
        before = why.reason["before"]
        if isinstance(before, int | float):
            self._waiting[name] = (float(before), now_s)

    def _settle(self, name: str, value: float, now_s: float) -> None:
        before, since_s = self._waiting.pop(name)
        pace = PACES[name]
        if abs(value - before) <= pace.at_once + pace.per_s * (now_s - since_s):
            self.scattered[name] = self.scattered.get(name, 0) + 1
        elif self._stood():
            self.leapt.add(name)

    def _stood(self) -> bool:
        """Whether power and load stood before the leap and in it."""
        shares = {share for _, _, share in self._recent}
        powers = [power for _, power, _ in self._recent if power is not None]
        if len(shares) > 1 or not powers:
            return False
        within_w = max(_POWER_STANDS_W, _POWER_STANDS_SHARE * max(powers))
        return max(powers) - min(powers) <= within_w
