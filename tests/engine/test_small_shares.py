"""A small share of short rounds is that share once the card has woken; time is simulated."""

from __future__ import annotations

from dataclasses import dataclass, field
from types import SimpleNamespace
from typing import Any

import pytest

from burnin.core.meaning import Term
from burnin.engine.compute import arithmetic_load
from burnin.engine.compute.arithmetic_load import ArithmeticWork
from burnin.engine.device.meanings import WorkTerm
from burnin.engine.device.slices import Pipeline
from burnin.engine.job import ArithmeticLoad
from burnin.engine.work import LoadShare

QUEUEING_S, ROUND_S = 1e-3, 80e-6
COLD_S, COLD_TIMES = 0.1, 6.0
FIRST_S = 3.0
"""As seen on a real card: a round of 80 µs, and a millisecond until its end is noticed. Finding out
how many rounds make a slice takes some 20 ms of full work, once. A card at rest works so many times
as slowly, until it has worked for so long."""


@dataclass
class Card:
    """Works rounds in simulated time."""

    now_s: float = 0.0
    worked_s: float = 0.0
    mixes: int = 6
    operations_per_round: float = 1.0
    title: Term = field(default_factory=WorkTerm.MIXED_WORK)

    def clock(self) -> float:
        return self.now_s

    def arithmetic(self) -> Card:
        return self

    def use(self, mix: int) -> None:
        """One mix is as any other here."""

    def work(self, rounds: int) -> Any:
        def finish() -> None:
            times = COLD_TIMES if self.worked_s < COLD_S else 1.0
            self.worked_s += rounds * ROUND_S * times
            self.now_s += QUEUEING_S + rounds * ROUND_S * times

        return SimpleNamespace(finish=finish)

    def release(self) -> None:
        """Nothing was taken."""


def worked(share: float, seconds: float, monkeypatch: pytest.MonkeyPatch) -> float:
    """Rounds' time as a part of `seconds`."""
    card = Card()
    monkeypatch.setattr(arithmetic_load, "time", SimpleNamespace(perf_counter=card.clock))
    monkeypatch.setattr(arithmetic_load, "Pipeline", lambda: Pipeline(card.clock))
    device: Any = card
    work = ArithmeticWork(device, ArithmeticLoad(share), LoadShare(share), lambda _: None)
    before = 0.0
    for rest_s in work.slices():
        card.now_s += max(rest_s, 1e-5)
        if card.now_s < FIRST_S:
            before = work.result().operations
        elif card.now_s >= FIRST_S + seconds:
            break
    return (work.result().operations - before) * ROUND_S / seconds


@pytest.mark.parametrize("share", [0.04, 0.1, 0.3, 0.6])
def test_a_share_is_that_share_once_the_card_has_woken(
    share: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert worked(share, 1.0, monkeypatch) == pytest.approx(share, rel=0.35)


def test_no_share_is_no_work(monkeypatch: pytest.MonkeyPatch) -> None:
    assert worked(0.0, 1.0, monkeypatch) == 0.0
