"""Proof that an engine works the card under test and no other, while others may be worked too.

Best is who owns the work: the card's UUID or its bus address as the engine's API tells them, or the
process that the card's driver says uses it. Where none is offered (Vulkan tells no bus address),
the work comes in a pattern of slices that no other work has (`burst_pattern.py`): this card's own
counters must follow it, those of every other card must not. That another card works meanwhile says
nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from burnin.core.meaning import Reason, Source
from burnin.core.reading import NotMeasured, known
from burnin.core.sample import Telemetry
from burnin.engine.burst_pattern import (
    CLEAR_T,
    FOLLOWS_T,
    LEAST_CHIPS,
    MOST_CHIPS,
    STRANGER_T,
    Point,
    Work,
    following,
)
from burnin.engine.meanings import EngineReason, EngineSource

SIGNALS = ("busy_pct", "power_w")
LAST_SIGNAL = "core_clock_mhz"
"""Looked at only where a card tells neither of the others: clocks stay up between slices."""


@dataclass(frozen=True)
class Proof:
    """Whether this card was worked and no other, and by what that was seen."""

    proven: bool | NotMeasured
    why: Reason

    @property
    def source(self) -> Source:
        """How it was found out, for the record."""
        return EngineSource.COUNTERS_UNDER_WORK(seen=self.why)


def by_uuid(told: str, wanted: str | NotMeasured) -> Proof | None:
    """What the card's own UUID says, as engine and driver tell it; None where it decides nothing.

    Two that differ prove nothing by themselves: a part of a card has a UUID of its own.
    """
    if not told or isinstance(wanted, NotMeasured) or told.lower() != wanted.lower():
        return None
    return Proof(True, EngineReason.SAME_UUID(uuid=wanted))


def by_address(told: str, wanted: str) -> Proof | None:
    """What the bus address says that an engine's API tells; None where it tells none."""
    if not told:
        return None
    if _bus_place(told) == _bus_place(wanted):
        return Proof(True, EngineReason.SAME_ADDRESS(address=wanted))
    return Proof(False, EngineReason.OTHER_ADDRESS(address=told, wanted=wanted))


def _bus_place(address: str) -> tuple[int, ...]:
    """An address as numbers: APIs write the domain with four or eight digits.

    >>> _bus_place("00000000:01:00.0") == _bus_place("0000:01:00.0")
    True
    """
    try:
        return tuple(int(part, 16) for part in address.replace(".", ":").split(":"))
    except ValueError:
        return ()


@dataclass(frozen=True)
class ProcessSeen:
    """What a card's driver says of one process: whether it uses the card, and for how long it has
    kept it busy, where that is told (ns)."""

    there: bool
    busy_ns: int | None = None


def by_process(
    pid: int,
    card: tuple[ProcessSeen | None, ProcessSeen | None],
    others: Sequence[tuple[ProcessSeen | None, ProcessSeen | None]],
) -> Proof | None:
    """What per-process use before and after a slice of work says; None where it decides nothing.

    A driver may list a process at a card that it only looked at: then the time decides, and where
    none is told, nothing does.
    """
    mine, strangers = _used(*card), [_used(*pair) for pair in others]
    if mine is None or any(used is None for used in strangers):
        return None
    if mine and not any(strangers):
        return Proof(True, EngineReason.PROCESS_ON_CARD(pid=pid))
    return None


def _used(before: ProcessSeen | None, after: ProcessSeen | None) -> bool | None:
    if after is None:
        return None
    if after.busy_ns is None or before is None:
        return after.there
    return after.busy_ns > (before.busy_ns or 0)


@dataclass
class CardTrace:
    """Counters of one card while the pattern runs, by their names."""

    name: str
    points: dict[str, list[Point]] = field(default_factory=dict)

    def add(self, at_s: float, telemetry: Telemetry) -> None:
        """One look at the card."""
        for name in (*SIGNALS, LAST_SIGNAL):
            value = known(getattr(telemetry, name))
            if value is not None:
                self.points.setdefault(name, []).append(Point(at_s, value))

    def strongest(self, work: Work) -> Mapping[str, float]:
        """How well each counter follows (Student's t); empty where the card has none."""
        names = [name for name in SIGNALS if name in self.points]
        if not names and LAST_SIGNAL in self.points:
            names = [LAST_SIGNAL]
        return {name: following(self.points[name], work) for name in names}

    def rise(self, signal: str, work: Work) -> Reason:
        """A counter in the mean without and with work."""
        points = self.points[signal]
        means = []
        for on in (False, True):
            values = [p.value for p in points if work.was_on(p.at_s - 0.1) is on]
            means.append(sum(values) / len(values) if values else 0.0)
        return EngineReason.COUNTER_ROSE(signal=signal, before=means[0], during=means[1])


def by_pattern(
    card: CardTrace,
    mine: Mapping[str, float],
    others: Sequence[CardTrace],
    work: Work,
    *,
    spent_j: float | None = None,
) -> Proof | None:
    """What the counters say so far; None: go on with the pattern.

    `mine` is what the card's own `strongest` says now. `spent_j`: the heat above idle that the
    pattern took, where it may take no more.
    """
    last = work.slices >= MOST_CHIPS or spent_j is not None
    if work.slices < LEAST_CHIPS:
        return None if spent_j is None else _too_warm(spent_j, work)
    if not mine:
        none = EngineReason.NO_COUNTERS()
        return Proof(NotMeasured(none), none)
    if max(mine.values()) < CLEAR_T and not last:
        return None
    theirs = [(other, found) for other in others if (found := other.strongest(work))]
    own_t = max(mine.values())
    stranger_t = max((max(found.values()) for _, found in theirs), default=0.0)
    if own_t >= CLEAR_T and stranger_t < STRANGER_T:
        return _proven(card, mine, work)
    if not last:
        return None
    followers = [other for other, found in theirs if max(found.values()) >= FOLLOWS_T]
    if own_t < FOLLOWS_T:
        if followers:
            return Proof(False, EngineReason.OTHER_CARD_FOLLOWED(address=followers[0].name))
        if spent_j is not None:
            return _too_warm(spent_j, work)
        return Proof(False, EngineReason.NO_COUNTER_FOLLOWED(slices_count=work.slices))
    if followers:
        return Proof(False, EngineReason.OTHER_CARD_FOLLOWED_TOO(address=followers[0].name))
    return _proven(card, mine, work)


def _too_warm(spent_j: float, work: Work) -> Proof:
    why = EngineReason.PROOF_HEAT_SPENT(spent_j=spent_j, slices_count=work.slices)
    return Proof(NotMeasured(why), why)


def _proven(card: CardTrace, mine: Mapping[str, float], work: Work) -> Proof:
    rises = tuple(card.rise(name, work) for name, t in mine.items() if t >= FOLLOWS_T)
    why = EngineReason.THIS_CARD_FOLLOWED(rises=rises, slices_count=work.slices)
    return Proof(True, why)
