"""A card whose driver hangs holds nobody up, and nothing of it is taken for measured."""

from __future__ import annotations

import threading
import time

import pytest

from burnin.card.answers_in_time import KnowsLoad, Patience, answering_in_time
from burnin.card.capabilities import Card
from burnin.card.meanings import CardReason
from burnin.card.merge import open_bench
from burnin.core.clock import Clock, WallClock
from burnin.core.errors import NoCard
from burnin.core.reading import NotMeasured
from burnin.core.sample import Telemetry
from burnin.report.languages.catalogue import catalogue
from burnin.sim.bench import simulated_bench

UNDER_LOAD_S = 0.5
AT_REST_S = 2.0


class Hanging:
    """A card that answers once `free` is set; `asked` counts the questions that reached it."""

    def __init__(self, card: Card, free: threading.Event) -> None:
        self._card, self._free = card, free
        self.asked = 0

    def telemetry(self) -> Telemetry:
        self.asked += 1
        self._free.wait(60.0)
        return self._card.telemetry()

    def __getattr__(self, name: str) -> object:
        return getattr(self._card, name)


class Bench:
    def __init__(self, clock: Clock | None = None) -> None:
        made = simulated_bench("healthy_x8")
        (self.card,) = open_bench(made.files, this_machine=False, simulated=True).cards()
        self.free = threading.Event()
        self.free.set()
        self.hanging = Hanging(self.card, self.free)
        self.patience = Patience()
        timed = answering_in_time(self.hanging, clock or WallClock(), self.patience)  # type: ignore[arg-type]
        self.timed = timed
        self.load_is(on=True)

    def load_is(self, *, on: bool) -> None:
        assert isinstance(self.timed, KnowsLoad)
        self.timed.load_is_on(on)


def silent(told: Telemetry, seconds: float) -> bool:
    expected = NotMeasured(CardReason.NO_ANSWER(seconds=seconds))
    return all(value == expected for value in vars(told).values())


def test_answers_go_through_as_they_are() -> None:
    bench = Bench()
    assert bench.timed.identity() == bench.card.identity()
    assert bench.timed.link() == bench.card.link()
    assert bench.timed.process_use(1) == bench.card.process_use(1)
    assert not silent(bench.timed.telemetry(), UNDER_LOAD_S)


def test_an_error_goes_through_too() -> None:
    class Broken(Bench):
        def telemetry(self) -> Telemetry:
            raise RuntimeError("sensor")

    timed = answering_in_time(Broken(), WallClock(), Patience())  # type: ignore[arg-type]
    with pytest.raises(RuntimeError, match="sensor"):
        timed.telemetry()


def test_a_driver_that_hangs_is_not_measured_and_no_lost_card() -> None:
    bench = Bench()
    identity = bench.timed.identity()
    bench.free.clear()
    began_s = time.monotonic()
    told = bench.timed.telemetry()
    assert time.monotonic() - began_s >= UNDER_LOAD_S - 0.05
    assert silent(told, UNDER_LOAD_S)
    for language in ("en", "de"):
        assert "0" in catalogue(language).say(CardReason.NO_ANSWER(seconds=UNDER_LOAD_S))
    # what is asked while it hangs reaches nobody, and waits for nobody
    assert silent(bench.timed.telemetry(), UNDER_LOAD_S)
    assert bench.hanging.asked == 1
    assert bench.timed.present()
    assert bench.timed.identity() == identity
    assert isinstance(bench.timed.error_counters(), NotMeasured)
    bench.free.set()


def test_what_comes_too_late_is_thrown_away_and_then_it_answers_again() -> None:
    bench = Bench()
    bench.free.clear()
    assert silent(bench.timed.telemetry(), UNDER_LOAD_S)
    bench.free.set()
    end_s = time.monotonic() + 60.0
    while silent(bench.timed.telemetry(), UNDER_LOAD_S):
        assert time.monotonic() < end_s
        time.sleep(0.01)
    assert bench.timed.link() == bench.card.link()


def test_at_rest_a_card_may_take_longer() -> None:
    bench = Bench()
    bench.load_is(on=False)
    bench.free.clear()
    threading.Timer(2 * UNDER_LOAD_S, bench.free.set).start()
    assert not silent(bench.timed.telemetry(), AT_REST_S)


def test_a_card_that_never_told_who_it_is_is_none() -> None:
    bench = Bench()
    bench.free.clear()
    bench.timed.telemetry()
    with pytest.raises(NoCard):
        bench.timed.identity()
    bench.free.set()


def test_what_took_too_long_by_the_benchs_own_clock_says_nothing_of_now() -> None:
    """A simulated read that hangs takes simulated time."""

    class Jumping(WallClock):
        def __init__(self, jump_s: float) -> None:
            self.now_s, self.jump_s = 0.0, jump_s

        def monotonic_s(self) -> float:
            self.now_s += self.jump_s
            return self.now_s

    for jump_s, late in ((0.4, False), (0.6, True)):
        bench = Bench(Jumping(jump_s))
        assert silent(bench.timed.telemetry(), UNDER_LOAD_S) is late
