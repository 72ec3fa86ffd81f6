"""Differences of counters, which alone speak of a run (law 8), and the events that they tell.

What each counter tells of: `error_table.py`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Protocol

from burnin.core.meaning import Reason
from burnin.core.reading import NotMeasured
from burnin.stages.error_table import NOT_ERRORS, CounterKind, Told, kind_of, way_of
from burnin.stages.meanings import StagesReason

_FULL_AT = (2**32 - 1, 2**64 - 1)
"""Where a counter that does not wrap stands still."""


class Counted(Protocol):
    """A counter as it was read, from the card or back from a record."""

    @property
    def end(self) -> str:
        """Which end of the link counts: ``card`` or ``port``."""
        ...

    @property
    def name(self) -> str:
        """What it counts."""
        ...

    @property
    def value(self) -> int:
        """What it stood at."""
        ...

    @property
    def modulus(self) -> int | None:
        """Where it wraps; None where it does not."""
        ...


@dataclass(frozen=True)
class CounterChange:
    """What counters did between two readings.

    `errors` and `other`: increase by ``end name``. `unusable`: why a counter says nothing, e.g.
    it was there only once, or fell although it does not wrap (the card was reset in between).
    `broken`: those of `unusable` that counted before, with why: their interval is no zero.
    """

    errors: dict[str, int]
    other: dict[str, int]
    unusable: tuple[Reason, ...]
    broken: Mapping[str, Reason] = field(default_factory=dict)


def difference(before: Sequence[Counted], after: Sequence[Counted]) -> CounterChange:
    """Increase of every counter found in both, wrapped byte counters unwrapped once at most."""
    earlier = {(c.end, c.name): c for c in before}
    later = {(c.end, c.name): c for c in after}
    errors: dict[str, int] = {}
    other: dict[str, int] = {}
    broken: dict[str, Reason] = {}
    once = [
        _read_once(f"{end} {name}", before=(end, name) in earlier)
        for end, name in sorted(earlier.keys() ^ later.keys())
    ]
    for key in sorted(earlier.keys() & later.keys()):
        first, last = earlier[key], later[key]
        label = f"{first.end} {first.name}"
        rise = last.value - first.value
        is_error = not any(part in first.name.lower() for part in NOT_ERRORS)
        if is_error:
            why = _why_broken(label, first, last)
            if why is not None:
                broken[label] = why
            else:
                errors[label] = rise
            continue
        if rise < 0 and first.modulus:
            rise %= first.modulus
        other[label] = rise
    for end, name in sorted(earlier.keys() - later.keys()):
        if not any(part in name.lower() for part in NOT_ERRORS):
            broken[f"{end} {name}"] = StagesReason.COUNTER_ONLY_BEFORE(counter=f"{end} {name}")
    return CounterChange(errors, other, (*once, *_beside(once, broken)), broken)


def went_on(before: Sequence[Counted], now: Sequence[Counted]) -> tuple[Counted, ...]:
    """Those of `before` that may have gone on counting: they are there still, and did not fall.

    Between two parts of a run a bench may have been off, and what counts may have begun anew.
    """
    later = {(c.end, c.name): c.value for c in now}
    return tuple(c for c in before if later.get((c.end, c.name), -1) >= c.value)


def _beside(once: list[Reason], broken: Mapping[str, Reason]) -> Iterable[Reason]:
    return (why for why in broken.values() if why not in once)


def _why_broken(label: str, first: Counted, last: Counted) -> Reason | None:
    """Why an error counter's difference is none: it restarted, or stands at its end."""
    if last.value < first.value:
        # It does not wrap within a stage: it restarted with its card, or ran over; either way
        # nobody knows what it counted in between.
        return StagesReason.COUNTER_RESTARTED(
            counter=label, first=first.value, last=last.value
        )
    ends = (*_FULL_AT, (first.modulus or 0) - 1)
    if last.value in ends:
        return StagesReason.COUNTER_FULL(counter=label, last=last.value)
    return None


def _read_once(counter: str, *, before: bool) -> Reason:
    when = StagesReason.COUNTER_ONLY_BEFORE if before else StagesReason.COUNTER_ONLY_AFTER
    return when(counter=counter)


def rises(errors: Mapping[str, int]) -> tuple[Reason, ...]:
    """The counters that rose, each with its increase."""
    return tuple(
        StagesReason.COUNTER_ROSE(counter=name, rise_count=count)
        for name, count in errors.items()
        if count
    )


_UNSEEN = {
    "to_card": NotMeasured(StagesReason.DAMAGE_TO_CARD_UNSEEN()),
    "to_host": NotMeasured(StagesReason.DAMAGE_TO_HOST_UNSEEN()),
}


@dataclass(frozen=True)
class WayErrors:
    """Events of one direction: the fewest and the most that explain what all counters told."""

    at_least: int
    at_most: int


def errors_by_direction(
    errors: Mapping[str, int], broken: Mapping[str, Reason] | None = None
) -> dict[str, WayErrors | NotMeasured]:
    """Events on their way ``to_card`` and ``to_host``, from differences by ``end name``.

    The fewest: every counter tells of the same events, so the largest counts. The most: packets
    and link messages are events apart, and receiver errors tell of either. A direction one of
    whose counters broke off is not measured, nor is one of which no counter sees every event.
    """
    found: dict[str, list[tuple[CounterKind, int]]] = {"to_card": [], "to_host": []}
    for label, count in errors.items():
        kind = kind_of(label)
        if kind is not None and kind.told in _OF_THE_WIRE:
            found[way_of(label.partition(" ")[0], kind)].append((kind, count))
    halted = _halted(broken or {})
    return {
        way: halted[way] if way in halted else _events(way, counts)
        for way, counts in found.items()
    }


_OF_THE_WIRE = (Told.PACKET, Told.LINK_MESSAGE, Told.SYMBOL, Told.ANSWER, Told.LANE)


def _halted(broken: Mapping[str, Reason]) -> dict[str, NotMeasured]:
    halted: dict[str, NotMeasured] = {}
    for label, why in broken.items():
        kind = kind_of(label)
        if kind is not None and kind.told in _OF_THE_WIRE:
            halted.setdefault(way_of(label.partition(" ")[0], kind), NotMeasured(why))
    return halted


def _events(way: str, counts: list[tuple[CounterKind, int]]) -> WayErrors | NotMeasured:
    if not any(kind.sees_all for kind, _ in counts):
        return _UNSEEN[way]

    def most(*told: Told) -> int:
        return max((count for kind, count in counts if kind.told in told), default=0)

    apart = most(Told.PACKET, Told.ANSWER) + most(Told.LINK_MESSAGE)
    return WayErrors(
        max(count for _, count in counts), max(apart, most(Told.SYMBOL), most(Told.LANE))
    )


def of_way(errors: Mapping[str, int], way: str) -> dict[str, int]:
    """Of all differences those of counters that tell of the wire, and of this way of it."""
    found = {}
    for label, count in errors.items():
        kind = kind_of(label)
        wired = kind is not None and kind.told in _OF_THE_WIRE
        if kind is not None and wired and way_of(label.partition(" ")[0], kind) == way:
            found[label] = count
    return found


def of_kind(errors: Mapping[str, int], *told: Told) -> dict[str, int]:
    """Of all differences those of counters that tell of such events."""
    found = {}
    for label, count in errors.items():
        kind = kind_of(label)
        if kind is not None and kind.told in told:
            found[label] = count
    return found


def uncorrected(errors: Mapping[str, int]) -> dict[str, int]:
    """Of all differences those of errors that the link could not mend by sending again."""
    return of_kind(errors, Told.UNCORRECTED)


def unmended_count(errors: Mapping[str, int]) -> int:
    """The fewest errors, that sending again does not mend, which explain what was counted.

    Where a driver cannot recover its card the kernel leaves the bits of such errors standing, and
    with each further one it counts those that stand once more (Linux drivers/pci/pcie/aer.c, err.c;
    seen on 6.1 and 6.12). So of one end and one severity the counter that rose most tells.
    """
    most: dict[tuple[str, bool], int] = {}
    for label, count in uncorrected(errors).items():
        key = label.partition(" ")[0], "(fatal)" in label
        most[key] = max(most.get(key, 0), count)
    return sum(most.values())


def not_of_the_wire(errors: Mapping[str, int]) -> dict[str, int]:
    """Of all differences those of errors that speak of no bit on the wire, and of unknown ones."""
    unknown = {label: count for label, count in errors.items() if kind_of(label) is None}
    return {**of_kind(errors, Told.ELSE), **unknown}
