"""How fast the memory worked, beside what its own clock and width carry.

What a memory carries: transfers a clock × clock × width / 8 (CUDA C++ Best Practices Guide,
theoretical bandwidth); where width or transfers are not told, the rate is recorded only. A memory
that stays below its own highest clock while it works is unsure, whatever it reads back.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from burnin.core.ratings import OwnRatings
from burnin.core.reading import Limit, NotMeasured, Reading, Verdict, judge, known, not_measured
from burnin.core.sample import Sample
from burnin.stages.memory.meanings import MemoryReason, MemorySource
from burnin.stages.memory.settings import Memory

_CARRIES_AT_MOST = 1.02
_WINDOW_S = 1.0


@dataclass
class WorkSeen:
    """Memory clocks under work, and how the bytes grew."""

    most_clock_mhz: float | None = None
    fastest_bytes_per_s: float | None = None
    why_no_clock: NotMeasured | None = None
    _grown: list[tuple[float, float]] = field(default_factory=list)
    _now_s: float = 0.0

    def sample(self, sample: Sample) -> None:
        """One sample under work."""
        self._now_s = sample.elapsed_s
        clock = sample.telemetry.memory_clock_mhz
        if isinstance(clock, NotMeasured):
            self.why_no_clock = clock
        else:
            self.most_clock_mhz = max(clock, self.most_clock_mhz or 0.0)

    def moved(self, total_bytes: float) -> None:
        """Bytes read and written so far."""
        begun = self._grown
        begun.append((self._now_s, total_bytes))
        while len(begun) > 1 and self._now_s - begun[1][0] >= _WINDOW_S:
            begun.pop(0)
        passed_s = self._now_s - begun[0][0]
        if passed_s >= _WINDOW_S:
            rate = (total_bytes - begun[0][1]) / passed_s
            self.fastest_bytes_per_s = max(rate, self.fastest_bytes_per_s or 0.0)


def throughput_readings(
    seen: WorkSeen, settings: Memory, ratings: OwnRatings
) -> Iterator[Reading]:
    """The memory's clock under work, its rate, and the rate's share of what it can carry."""
    yield _clock(seen, ratings, settings.clock_at_least_share_of_own)
    rate = seen.fastest_bytes_per_s
    if rate is None:
        yield not_measured("memory_rate_gbs", "GB/s", MemoryReason.TOO_SHORT(), required=False)
        return
    yield judge("memory_rate_gbs", rate / 1e9, "GB/s", None, required=False)
    clock_mhz = seen.most_clock_mhz
    peak_gbs = None if clock_mhz is None else ratings.memory_peak_gbs(clock_mhz)
    least = settings.rate_at_least_share_of_own
    limit = None if least is None else Limit(lower=least)
    name = "memory_rate_share_of_own"
    if peak_gbs is None or clock_mhz is None:
        unknown = MemoryReason.PEAK_UNKNOWN()
        yield not_measured(name, "", unknown, limit=limit, required=limit is not None)
        return
    share = rate / 1e9 / peak_gbs
    source = MemorySource.OWN_PEAK(peak_gbs=peak_gbs, clock_mhz=clock_mhz)
    if share > _CARRIES_AT_MOST:
        why = MemoryReason.FASTER_THAN_OWN(rate_gbs=rate / 1e9, peak_gbs=peak_gbs)
        upper = Limit(least, _CARRIES_AT_MOST)
        yield Reading(name, share, "", 0.0, upper, (), Verdict.UNSURE, why, source)
        return
    yield judge(name, share, "", limit, source=source, required=limit is not None)


def _clock(seen: WorkSeen, ratings: OwnRatings, least: float) -> Reading:
    """A driver may choose a level below its highest for computing (common practice, no source)."""
    name, limit = "memory_clock_share", Limit(lower=least)
    most, clock = ratings.most_memory_clock_mhz, seen.most_clock_mhz
    if isinstance(most, NotMeasured):
        return not_measured(name, "", most.reason, required=False)
    if clock is None or not known(most):
        why = seen.why_no_clock.reason if seen.why_no_clock else MemoryReason.TOO_SHORT()
        return not_measured(name, "", why, required=False)
    source = MemorySource.OWN_CLOCK(clock_mhz=clock, most_mhz=most)
    share = clock / most
    if share >= least:
        return judge(name, share, "", limit, source=source)
    low = MemoryReason.CLOCK_LOW(clock_mhz=clock, most_mhz=most)
    return Reading(name, share, "", 0.0, limit, (), Verdict.UNSURE, low, source)
