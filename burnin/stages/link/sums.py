"""Sums of link traffic over all its stretches, as a soak that was interrupted goes on from them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Self

from burnin.core.events import TrafficSummed
from burnin.core.meaning import Reason, distinct
from burnin.core.reading import NotMeasured
from burnin.engine.job import TrafficResult
from burnin.stages.counters import CounterChange, errors_by_direction
from burnin.stages.link.error_rate import Direction

WAYS = ("to_card", "to_host")


@dataclass
class Traffic:
    """Sums over all stretches; `errors` and `other` are differences of counters by ``end name``.

    `counters_missing` says why there are none. `broken`: counters that restarted or stood still at
    some time, with why.
    """

    seconds: float = 0.0
    to_card_bytes: int = 0
    to_host_bytes: int = 0
    wrong_words: int = 0
    errors: dict[str, int] = field(default_factory=dict)
    other: dict[str, int] = field(default_factory=dict)
    unusable: tuple[Reason, ...] = ()
    broken: dict[str, Reason] = field(default_factory=dict)
    counters_missing: Reason | None = None

    @classmethod
    def from_event(cls, told: TrafficSummed) -> Self:
        """Sums of an interrupted soak, from what it put on record last."""
        return cls(
            told.seconds,
            told.to_card_bytes,
            told.to_host_bytes,
            told.wrong_words,
            dict(told.errors),
            dict(told.other),
            broken=dict(told.broken),
            counters_missing=told.counters_missing,
        )

    def as_event(self, stage: str) -> TrafficSummed:
        """As it is put on record."""
        return TrafficSummed(
            stage,
            self.seconds,
            self.to_card_bytes,
            self.to_host_bytes,
            self.wrong_words,
            dict(self.errors),
            dict(self.other),
            self.counters_missing,
            dict(self.broken),
        )

    def moved_bytes(self, way: str) -> int:
        """Bytes of one of the two ways."""
        return self.to_card_bytes if way == "to_card" else self.to_host_bytes

    def direction(self, way: str, width_lanes: int) -> Direction | NotMeasured:
        """Bits and errors of ``to_card`` or ``to_host``, or why errors there cannot be seen."""
        if self.counters_missing is not None:
            return NotMeasured(self.counters_missing)
        errors = errors_by_direction(self.errors, self.broken)[way]
        if isinstance(errors, NotMeasured):
            return errors
        return Direction(self.moved_bytes(way), errors.at_most, errors.at_least, width_lanes)

    def directions(self, width_lanes: int) -> list[Direction]:
        """Those of the two ways on which errors can be seen."""
        ways = (self.direction(way, width_lanes) for way in WAYS)
        return [way for way in ways if not isinstance(way, NotMeasured)]

    def add(self, result: TrafficResult, change: CounterChange | NotMeasured) -> None:
        """Add one stretch."""
        self.seconds += result.seconds
        self.to_card_bytes += result.to_card_bytes
        self.to_host_bytes += result.to_host_bytes
        self.wrong_words += result.wrong_words
        if isinstance(change, NotMeasured):
            self.counters_missing = change.reason
            return
        for into, rises in ((self.errors, change.errors), (self.other, change.other)):
            for name, rise in rises.items():
                into[name] = into.get(name, 0) + rise
        self.unusable = distinct((*self.unusable, *change.unusable))
        self.broken.update(change.broken)
