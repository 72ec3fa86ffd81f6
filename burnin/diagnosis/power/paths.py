"""How well each fault accounts for the voltages at plug and slot as the current grows.

The unit's voltage falls with the whole current (its own resistance), then each path loses voltage
by its own current (Ohm's law): plug_v = v0 - unit * (plug + slot current) - plug path * plug
current, likewise at the slot, where the sensor may be off by a little. All five unknowns have a
normal belief, so the chance of the readings is had exactly, one reading after the other.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from burnin.diagnosis.power.faults import (
    EDGE_12V,
    Effect,
    Path,
    PowerCause,
    PowerFault,
    supply_contacts,
)
from burnin.diagnosis.power.look import KnownGood, PowerLook, PowerStep

Normal = tuple[float, float]
"""Mean and standard deviation."""

_V0: Normal = (12.09, 0.085)
_V0_SAGS: Normal = (11.87, 0.11)
_V0_ODD: Normal = (12.0, 0.3)
_ODD = 0.04
"""A unit may start anywhere within 5 % of 12 V (ATX design guide); few do."""
_OFFSET_V: Normal = (0.0, 0.045)
_UNIT_MOHM: Normal = (1.1, 0.3)
_UNIT_SAGS_MOHM: Normal = (24.0, 7.0)
"""A sound unit at its sockets, and one that sags (estimates)."""
_PLUG_MOHM = {"6pin": (9.2, 0.75), "8pin": (9.2, 0.75), "12v2x6": (4.5, 0.40)}
_OTHER_PLUG_MOHM: Normal = (8.0, 3.0)
_SLOT_MOHM: Normal = (7.2, 1.2)
"""Paths of sound cards where no known-good card was measured (estimates)."""
_ONE_MOHM = {Path.PLUG: 13.0, Path.SLOT: 20.0}
"""One contact with its share of the wire, as part of a path of several in parallel (estimate)."""
_RISE = {Effect.OPEN: (1.0, 0.1), Effect.RESISTIVE: (0.67, 0.15)}
"""Rise of a path's resistance over what the same contacts open would make (estimate)."""
_CARD_SHARE = 0.7
"""Share of the spread of known-good cards that is theirs, not the measuring's (estimate)."""
_ODD_RISE_MOHM: Normal = (25.0, 15.0)
"""A path worse than its named contacts explain: burnt, or more contacts than two (estimate)."""
_NOISE_V = 0.0075
_GRAINS_MV = (50, 20, 10, 5, 2, 1)
"""Steps of voltage sensors (common practice, no source)."""
_SLOT_BASE_W, _SLOT_SHARE, _SLOT_MOST_W = 5.0, 0.25, 60.0
"""What a card takes from the slot where it does not tell (estimate; the slot's 12 V allows 66 W,
PCI Express CEM)."""


@dataclass(frozen=True)
class _Point:
    volt: float
    at_slot: bool
    plug_a: float
    slot_a: float


@dataclass(frozen=True)
class PathReadings:
    """The voltages of all steps with their currents, and what sound paths would have."""

    points: tuple[_Point, ...]
    noise_v: float
    plug_mohm: Normal
    slot_mohm: Normal
    in_plug: int

    @staticmethod
    def of(look: PowerLook) -> PathReadings:
        """The readings of a look that can be voltages and powers at all."""
        points = tuple(point for step in look.steps for point in _points(step))
        own = _PLUG_MOHM.get(look.plug or "", _OTHER_PLUG_MOHM)
        mean, spread = _known(look.known_good_plug, own)
        return PathReadings(
            points,
            math.hypot(_NOISE_V, _grain_v(points) / math.sqrt(12.0)),
            # Known-good plug paths were measured from the unit's terminals on.
            (mean - _UNIT_MOHM[0], spread),
            _known(look.known_good_slot, _SLOT_MOHM),
            len(supply_contacts(look.plug)),
        )

    def reads(self, path: Path) -> bool:
        """Whether a path's voltage was read at two currents or more."""
        return sum(point.at_slot is (path is Path.SLOT) for point in self.points) > 1

    def fit(self, fault: PowerFault) -> float:
        """Logarithm of the chance of all voltages by one fault."""
        count = len(fault.contacts) if fault.path is not None else 0
        return _fit(self, fault.cause, fault.path, fault.effect, count)


@lru_cache(maxsize=64)
def _fit(
    read: PathReadings, cause: PowerCause, path: Path | None, effect: Effect | None, count: int
) -> float:
    v0, unit, plug, slot = _V0, _UNIT_MOHM, read.plug_mohm, read.slot_mohm
    if cause is PowerCause.UNIT:
        v0, unit = _V0_SAGS, _UNIT_SAGS_MOHM
    if cause is PowerCause.ELSE:
        v0, unit = (v0[0], 2.0 * v0[1]), (unit[0], 5.0 * unit[1])
        plug, slot = (plug[0], 0.5 * plug[0]), (slot[0], 0.5 * slot[0])
    paths = [(1.0, plug, slot)]
    if effect is not None:
        own, all_ = (plug, read.in_plug) if path is Path.PLUG else (slot, len(EDGE_12V))
        opened = _opened(path or Path.PLUG, all_, count)
        paths = []
        for share, (mean, spread) in ((1.0 - _ODD, _rise(opened, effect)), (_ODD, _ODD_RISE_MOHM)):
            raised = own[0] + mean, math.hypot(own[1], spread)
            paths.append((share, *((raised, slot) if path is Path.PLUG else (plug, raised))))
    logs = []
    for share, way, slot_way in paths:
        others = (_OFFSET_V, *((m / 1e3, s / 1e3) for m, s in (unit, way, slot_way)))
        logs.append(math.log(share * (1.0 - _ODD)) + _evidence(read, (v0, *others)))
        logs.append(math.log(share * _ODD) + _evidence(read, (_V0_ODD, *others)))
    most = max(logs)
    return most + math.log(sum(math.exp(value - most) for value in logs))


def _evidence(read: PathReadings, beliefs: tuple[Normal, ...]) -> float:
    """Each reading is foretold from those before it, then learned from (Kalman's update)."""
    mean = [m for m, _ in beliefs]
    size = range(len(mean))
    cover = [[s * s if i == j else 0.0 for j in size] for i, (_, s) in enumerate(beliefs)]
    found = 0.0
    for point in read.points:
        row = _row(point)
        with_row = [sum(cover[i][j] * row[j] for j in size) for i in size]
        variance = sum(row[i] * with_row[i] for i in size) + read.noise_v**2
        off = point.volt - sum(row[i] * mean[i] for i in size)
        found -= 0.5 * (off * off / variance + math.log(2.0 * math.pi * variance))
        gain = [value / variance for value in with_row]
        mean = [mean[i] + gain[i] * off for i in size]
        cover = [[cover[i][j] - gain[i] * with_row[j] for j in size] for i in size]
    return found


def _row(point: _Point) -> tuple[float, ...]:
    """How a reading hangs on v0, offset, and resistance of unit, plug path, slot path."""
    whole = point.plug_a + point.slot_a
    if point.at_slot:
        return (1.0, 1.0, -whole, 0.0, -point.slot_a)
    return (1.0, 0.0, -whole, -point.plug_a, 0.0)


def _points(step: PowerStep) -> Iterator[_Point]:
    plug_v = step.plug_v if _is_12v(step.plug_v) else None
    slot_v = step.slot_v if _is_12v(step.slot_v) else None
    if not 0.0 <= step.power_w <= 3000.0:
        return
    slot_w = step.slot_w
    if slot_w is None or not 0.0 <= slot_w <= 200.0:
        slot_w = min(_SLOT_BASE_W + _SLOT_SHARE * step.power_w, _SLOT_MOST_W)
        slot_v = None  # a guessed current tells nothing of the slot's own small drop
    slot_a = slot_w / (slot_v or 12.0)
    plug_a = max(step.power_w - slot_w, 0.0) / (plug_v or 12.0)
    if plug_v is not None:
        yield _Point(plug_v, False, plug_a, slot_a)
    if slot_v is not None:
        yield _Point(slot_v, True, plug_a, slot_a)


def _is_12v(volt: float | None) -> bool:
    """Whether a reading can be a voltage of a 12 V supply at all."""
    return volt is not None and 3.0 <= volt <= 20.0


def _grain_v(points: tuple[_Point, ...]) -> float:
    """The step in which the voltages are told: the largest of the usual ones that fits them all."""
    whole = math.gcd(*(round(1000.0 * point.volt) for point in points))
    return next(grain for grain in _GRAINS_MV if whole % grain == 0) / 1000.0


def _known(good: KnownGood | None, else_: Normal) -> Normal:
    """What the next sound card should show by those measured (spread of a new one of the kind)."""
    if good is None or good.count < 1 or not 0.0 < good.mean_mohm < 1000.0:
        return else_
    spread = good.sd_mohm if 0.0 < good.sd_mohm < 1000.0 else 0.1 * good.mean_mohm
    return good.mean_mohm, _CARD_SHARE * spread * math.sqrt(1.0 + 1.0 / good.count)


def _opened(path: Path, all_: int, count: int) -> float:
    """Rise in milliohm where so many of parallel contacts are open."""
    left = all_ - count
    return _ONE_MOHM[path] * (1.0 / left - 1.0 / all_) if left > 0 else 10.0 * _ONE_MOHM[path]


def _rise(opened_mohm: float, effect: Effect) -> Normal:
    mean, spread = _RISE[effect]
    return mean * opened_mohm, spread * opened_mohm
