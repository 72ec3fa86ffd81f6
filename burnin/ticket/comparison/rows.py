"""Readings of records side by side, each with its difference, its uncertainty and its spread."""

from __future__ import annotations

import math
import statistics
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from burnin.core.reading import Reading, Verdict
from burnin.record.reader import Record
from burnin.ticket.comparison.alike import Alike, Place, places_of
from burnin.ticket.comparison.spread import FAR, FEWEST, far_from, known_within, robust_spread

Key = tuple[str, int, str]
"""Kind of stage, the how manieth of its kind, and a reading's name."""
RAMP = "thermal_ramp"
_OF_THE_WORK = ("°C", "K", "W", "J", "K/s", "°C/s", "s", "rpm", "1/s")
"""Units of what hangs on how much work a card did before and while it was measured."""


@dataclass(frozen=True)
class Row:
    """One reading. `other` is that of the record beside, or of several: the median with the
    uncertainty and the verdict that most of them have.

    `uncertainty` is the combined expanded one (k = 2) of the difference, `spread` the robust spread
    of known-good records, `spreads` how many of them the value lies above (below: negative); None
    where too few tell it. `far`: it lies outside that spread and beyond the uncertainty.
    `count` is how many records tell the other value.
    """

    stage: str
    kind: str
    own: Reading
    other: Reading
    count: int
    difference: float | None = None
    uncertainty: float | None = None
    spread: float | None = None
    spreads: float | None = None
    far: bool = False
    judged_otherwise: bool = False
    weighed: bool = True

    @property
    def reading(self) -> str:
        """The reading's name."""
        return self.own.name

    @property
    def differs(self) -> bool:
        """Whether the values differ by more than both are uncertain, or are other words."""
        if self.difference is not None and self.uncertainty is not None:
            return abs(self.difference) > self.uncertainty
        return self.own.value != self.other.value


def cells_of(record: Record) -> dict[Key, Reading]:
    """The last value of each reading, or the last that failed."""
    places = places_of(record.run)
    found: dict[Key, Reading] = {}
    for reading in record.readings:
        kind, number = places.get(reading.stage, (reading.stage.partition("-")[2], 1))
        key = (kind or reading.stage, number, reading.name)
        if key not in found or found[key].verdict is not Verdict.FAIL:
            found[key] = reading
    return found


def rows_beside(
    own: Mapping[Key, Reading],
    others: Sequence[Mapping[Key, Reading]],
    known_good: Sequence[Mapping[Key, Reading]],
    how: Alike,
) -> tuple[Row, ...]:
    """Every reading that the record and at least one of the others have."""
    rows = []
    for key, reading in own.items():
        beside = [one[key] for one in others if key in one]
        if beside:
            usual = [n for one in known_good if (n := _number(one.get(key))) is not None]
            rows.append(_row(key, reading, beside, usual, how))
    return tuple(rows)


def _row(
    key: Key, own: Reading, beside: Sequence[Reading], usual: Sequence[float], how: Alike
) -> Row:
    kind, number, _ = key
    other = _middle(own, beside)
    weighed = _weighed((kind, number), own.unit, how)
    otherwise = _judged_otherwise(own, other, weighed=weighed)
    row = Row(
        own.stage, kind, own, other, len(beside), judged_otherwise=otherwise, weighed=weighed
    )
    value, theirs = _number(own), _number(other)
    if value is None or theirs is None:
        return row
    difference = value - theirs
    counts = value == int(value) and theirs == int(theirs)
    within = math.hypot(
        known_within(own, value, counts=counts), known_within(other, theirs, counts=counts)
    )
    spread = spreads = None
    far = False
    if weighed and len(usual) >= FEWEST:
        _, spread = robust_spread(usual)
        # No spread is narrower than what the sensor itself resolves; beside few records their
        # median is as uncertain as they are. Only the spread is known worse for few records.
        wider = math.sqrt(1.0 + 1.0 / len(beside)) if len(beside) < FEWEST else 1.0
        standard = math.hypot(spread * wider, within / 2.0)
        spreads = difference / standard if standard > 0.0 else None
        bound = math.hypot(far_from(len(usual)) * spread * wider, FAR * within / 2.0)
        far = abs(difference) > max(bound, within)
    return Row(
        own.stage, kind, own, other, len(beside), difference, within, spread, spreads, far,
        otherwise, weighed,
    )  # fmt: skip


def _middle(own: Reading, beside: Sequence[Reading]) -> Reading:
    """What most of the others told: the median of numbers, else the most frequent word."""
    verdict = Counter(one.verdict for one in beside).most_common(1)[0][0]
    numbers = [n for one in beside if (n := _number(one)) is not None]
    first = next((one for one in beside if one.verdict is verdict), beside[0])
    if not numbers or len(numbers) * 2 < len(beside):
        value = Counter(one.value for one in beside).most_common(1)[0][0]
        return Reading(own.name, value, own.unit, limit=first.limit, verdict=verdict)
    uncertainty = statistics.median(
        one.uncertainty for one in beside if _number(one) is not None
    )
    middle = statistics.median(numbers)
    return Reading(own.name, middle, own.unit, uncertainty, first.limit, verdict=verdict)


def _weighed(place: Place, unit: str, how: Alike) -> bool:
    """Whether what differs may be laid to the card: not where work, model or machine differ."""
    if not (how.machine and how.model and how.engine):
        return False
    if how.profile:
        return True
    return place in how.stages and unit not in _OF_THE_WORK and place[0] != RAMP


def _judged_otherwise(own: Reading, other: Reading, *, weighed: bool) -> bool:
    """A verdict that changed; a failure is one whatever lies beside it."""
    if None in (own.verdict, other.verdict) or own.verdict is other.verdict:
        return False
    return weighed or own.verdict is Verdict.FAIL


def _number(reading: Reading | None) -> float | None:
    value = None if reading is None else reading.value
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return float(value) if math.isfinite(value) else None
