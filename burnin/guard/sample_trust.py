"""Which values of a row of telemetry may be used: an impossible one is none, a leap waits.

A value that cannot be one of its kind (no number, infinite, a fan at -1) is taken out of its row,
with the reason in its place; nothing is put there instead. A value that leapt further than it can
in the time since the last good one is held back until the reads of `SETTLED_AFTER_S` bear it out:
one wrong value neither stops a load nor misleads a model, and a leap that is real costs 0.3 s.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from burnin.card.meanings import AttributeReason, CardReason
from burnin.core.meaning import Meaning, Reason, ReasonCode
from burnin.core.reading import NotMeasured
from burnin.core.sample import FAN_NAMES, Sample, SampleFlaw, Telemetry


class SampleReason(ReasonCode):
    """Why a value that a sensor gave is not one; `before` is the last good value."""

    NO_NUMBER = "sample_no_number"
    INFINITE = "sample_infinite_value"
    IMPOSSIBLE = "sample_impossible_value", "value", "lower", "upper"
    UNSETTLED = "sample_unsettled_value", "value", "before"


SETTLED_AFTER_S = 0.3
"""A leap must stand for so long: longer than the 0.1 s for which a sensor repeats a value."""

_TEMP_C, _FAN_RPM, _FAN_PCT = (-50.0, 200.0), (0.0, 30_000.0), (0.0, 200.0)
POSSIBLE: Mapping[str, tuple[float, float]] = MappingProxyType({
    "gpu_temp_c": _TEMP_C,
    "hotspot_temp_c": _TEMP_C,
    "memory_temp_c": _TEMP_C,
    "power_w": (0.0, 2_000.0),
    "energy_j": (0.0, 1e13),
    "core_clock_mhz": (0.0, 20_000.0),
    "memory_clock_mhz": (0.0, 30_000.0),
    "busy_pct": (0.0, 100.0),
    "link_speed_gts": (0.0, 128.0),
    "link_width_lanes": (0.0, 63.0),
    **{name: _FAN_RPM for name, _ in FAN_NAMES},
    **{name: _FAN_PCT for _, name in FAN_NAMES},
})
"""Least and most that a card's sensor can tell, far beyond what it may. 255 °C is what a bus reads
where nobody answers. A setting may be told above 100 % (NVML, nvmlDeviceGetFanSpeed)."""


WORKS_FROM_W = 1.0
"""A card that works draws more; one that sleeps may be told at 0."""


@dataclass(frozen=True)
class Pace:
    """The furthest that a value can go: at once, and in each second more, in its own unit."""

    at_once: float
    per_s: float


_HEAT = Pace(10.0, 30.0)
PACES: Mapping[str, Pace] = MappingProxyType({
    # 450 W into a bare die of some 23 J/K are 20 K/s; a sensor that lags goes slower
    "gpu_temp_c": _HEAT,
    "memory_temp_c": _HEAT,
    # over the die by the die's power at once: 15 K, and twice that where paste is missing
    "hotspot_temp_c": Pace(20.0, 30.0),
    # a counter: no more than the most power, and a refresh that came late
    "energy_j": Pace(4_000.0, 2_000.0),
    # a fan at 3,000 rpm that is held stands in two seconds
    **{name: Pace(300.0, 6_000.0) for name, _ in FAN_NAMES},
})
"""Values that cannot leap (estimates, no source). Power can, and so can clocks."""

_CANNOT_BE = frozenset(
    code.value
    for code in (SampleReason.NO_NUMBER, SampleReason.INFINITE, SampleReason.IMPOSSIBLE)
)
_WRONG = _CANNOT_BE | {AttributeReason.NOT_A_NUMBER.value, CardReason.WRONG_KIND.value}
"""Answers of a sensor that is there: impossible ones, words, values of another kind."""

MOVING = ("power_w", "energy_j", "gpu_temp_c", "hotspot_temp_c", "memory_temp_c")
"""Values of which one moves from row to row while sensors live."""


@dataclass
class _Course:
    """One value over time: the last good one, and the leap that waits."""

    good: float | None = None
    good_s: float = 0.0
    held: float | None = None
    held_from_s: float = 0.0
    held_s: float = 0.0

    def see(
        self, value: float | NotMeasured, why: NotMeasured | None, now_s: float, pace: Pace
    ) -> NotMeasured | None:
        """Why this value may not be used, `why` being the reason so far; None where it is good."""
        if why is None:
            assert not isinstance(value, NotMeasured)
            return self._take(value, now_s, pace)
        if why.reason.means(SampleReason.UNSETTLED):  # held back before this record was written
            told = why.reason["value"]
            if isinstance(told, float | int):
                self._take(float(told), now_s, pace)
            return why
        self.held = None
        return why

    def _take(self, value: float, now_s: float, pace: Pace) -> NotMeasured | None:
        """Why this value waits; None where it is good."""
        before = self.good
        settled = before is None or _near(before, value, now_s - self.good_s, pace)
        if not settled:
            if self.held is None or not _near(self.held, value, now_s - self.held_s, pace):
                self.held_from_s = now_s
            self.held, self.held_s = value, now_s
            settled = now_s - self.held_from_s >= SETTLED_AFTER_S - 1e-6
        if settled or before is None:
            self.good, self.good_s, self.held = value, now_s, None
            return None
        return NotMeasured(SampleReason.UNSETTLED(value=value, before=before))


def _near(one: float, other: float, dt_s: float, pace: Pace) -> bool:
    return abs(other - one) <= pace.at_once + pace.per_s * max(0.0, dt_s)


class SampleTrust:
    """Sees every sample of a run in turn, and gives it back with what may be used of it.

    What it gives back it leaves as it is when it sees it again: a record is judged anew like a run.
    """

    def __init__(self) -> None:
        courses = {name: _Course() for name in PACES}
        self._checks = tuple(
            (name, *bounds, courses.get(name)) for name, bounds in POSSIBLE.items()
        )
        self._last: Telemetry | None = None
        self._read: set[str] = set()
        self._never: dict[str, NotMeasured] = {}
        """Of each value that was never read, the reason given with the last row."""

    def see(self, sample: Sample) -> Sample:
        """The sample with the reason in the place of every value that may not be used."""
        told, loaded, now_s = sample.telemetry, sample.loaded, sample.elapsed_s
        read, never = self._read, self._never
        found: dict[str, NotMeasured] = {}
        # that a row came late is the sampler's to say
        wrong: set[SampleFlaw] = {flaw for flaw in sample.flaws if flaw is SampleFlaw.LATE}
        for name, lower, upper, course in self._checks:
            value = getattr(told, name)
            if value is never.get(name):
                continue
            least = WORKS_FROM_W if loaded and name == "power_w" else lower
            why = value if isinstance(value, NotMeasured) else why_impossible(value, (least, upper))
            if course is not None:
                why = course.see(value, why, now_s, PACES[name])
            if why is None:
                read.add(name)
                never.pop(name, None)
                continue
            if why is not value:
                found[name] = why
            flaw = _flaw_of(why.reason)
            if flaw is not None:
                wrong.add(flaw)
            if name in read:
                wrong.add(SampleFlaw.MISSING)
            elif flaw is None:
                never[name] = why
        telemetry = replace(told, **found) if found else told
        if sample.present and self._repeats(telemetry):
            wrong.add(SampleFlaw.REPEATED)
        self._last = telemetry
        flaws = tuple(flaw for flaw in SampleFlaw if flaw in wrong) if wrong else ()
        if not found and flaws == sample.flaws:
            return sample
        return replace(sample, telemetry=telemetry, flaws=flaws)

    def _repeats(self, telemetry: Telemetry) -> bool:
        last = self._last
        if last is None:
            return False
        read = False
        for name in MOVING:
            value = getattr(telemetry, name)
            if value != getattr(last, name):
                return False
            read = read or not isinstance(value, NotMeasured)
        return read


def possible(telemetry: Telemetry) -> Telemetry:
    """One row by itself: the reason in the place of every value that cannot be."""
    found: dict[str, NotMeasured] = {}
    for name, bounds in POSSIBLE.items():
        value = getattr(telemetry, name)
        why = None if isinstance(value, NotMeasured) else why_impossible(value, bounds)
        if why is not None:
            found[name] = why
    return replace(telemetry, **found) if found else telemetry


def _flaw_of(reason: Reason) -> SampleFlaw | None:
    if is_impossible(reason):
        return SampleFlaw.IMPOSSIBLE
    return SampleFlaw.UNSETTLED if reason.means(SampleReason.UNSETTLED) else None


def answers_wrongly(reason: Reason) -> bool:
    """Whether a sensor answered, and what it said is no value of its kind."""
    if not reason.data:
        return reason.code in _WRONG
    return any(part.code in _WRONG for part in reason.parts())


def is_impossible(reason: Meaning) -> bool:
    """Whether a sensor answered, and what it said cannot be."""
    return reason.code in _CANNOT_BE


def why_impossible(value: float, bounds: tuple[float, float]) -> NotMeasured | None:
    """Why a number cannot be what a sensor measured; None where it can."""
    lower, upper = bounds
    if lower <= value <= upper:
        return None
    if math.isnan(value):
        return NotMeasured(SampleReason.NO_NUMBER())
    if math.isinf(value):
        return NotMeasured(SampleReason.INFINITE())
    return NotMeasured(SampleReason.IMPOSSIBLE(value=value, lower=lower, upper=upper))
