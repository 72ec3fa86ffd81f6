"""Samples come by a grid of time; one that comes late says by how much."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from burnin.core.events import Event
from burnin.core.sample import SampleFlaw, Telemetry
from burnin.guard.guard_set import GuardSet
from burnin.guard.sampler import Watch

PERIOD_S = 0.05


class Hands:
    """A clock that a test moves."""

    def __init__(self) -> None:
        self.now_s = 100.0

    def monotonic_s(self) -> float:
        return self.now_s

    def utc(self) -> datetime:
        return datetime(2026, 3, 2, tzinfo=UTC) + timedelta(seconds=self.now_s)

    def sleep_s(self, seconds: float) -> None:
        self.now_s += seconds


class SlowCard:
    """A card of which each read takes so long."""

    def __init__(self, clock: Hands, reads_s: list[float]) -> None:
        self._clock, self._reads_s = clock, reads_s

    def present(self) -> bool:
        return True

    def telemetry(self) -> Telemetry:
        self._clock.now_s += self._reads_s.pop(0)
        return Telemetry(power_w=50.0)


def rows(reads_s: list[float]) -> list[tuple[float, float | None, tuple[SampleFlaw, ...]]]:
    clock, events = Hands(), list[Event]()
    card, count = SlowCard(clock, reads_s), len(reads_s)
    watch = Watch(card, GuardSet(), clock, events.append, lambda: False, 100.0, PERIOD_S)
    found: list[tuple[float, float | None, tuple[SampleFlaw, ...]]] = []
    for _ in range(count):
        sample = watch.look("x")
        late_s = None if sample.late_s is None else round(sample.late_s, 6)
        late = tuple(flaw for flaw in sample.flaws if flaw is SampleFlaw.LATE)
        found.append((round(sample.elapsed_s, 6), late_s, late))
        watch.pause()
    return found


def test_what_a_read_takes_is_not_added_to_the_period() -> None:
    found = rows([0.02, 0.03, 0.01, 0.04])
    assert [at_s for at_s, _, _ in found] == [0.0, 0.05, 0.1, 0.15]
    assert [late_s for _, late_s, _ in found] == [None, 0.0, 0.0, 0.0]


def test_a_late_sample_says_so_and_the_next_keeps_the_grid() -> None:
    found = rows([0.01, 0.17, 0.01, 0.01])
    assert [at_s for at_s, _, _ in found] == [0.0, 0.05, 0.22, 0.25]
    assert [late_s for _, late_s, _ in found] == [None, 0.0, 0.12, 0.0]
    assert [bool(late) for _, _, late in found] == [False, False, True, False]
