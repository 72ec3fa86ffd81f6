"""The ledger of watts before cards that do not idle as they did when the batch began."""

from __future__ import annotations

from burnin.run.batch.budget import Budget
from burnin.run.batch.ledger import Ledger
from burnin.run.leave.giver import Given, Never, Wait
from burnin.run.leave.meanings import LeaveReason, LeaveTerm
from burnin.run.leave.need import Need

MINUTES_S = 600.0


def need(watts: float) -> Need:
    return Need("2-thermal_ramp", watts, 0.0, LeaveTerm.BY_OWN_LIMIT())


def reads(ledger: Ledger, card: str, watts: float, from_s: float, until_s: float) -> None:
    """Ten readings a second."""
    for tick in range(int(from_s * 10), int(until_s * 10)):
        ledger.reads(card, watts, tick / 10)


def test_a_card_that_idles_warmer_after_its_load_holds_nobody_up_for_ever() -> None:
    """gave: the second waited for 9 W of the first, the first behind the second, for ever.

    A warm card's leakage and memory clock keep its idle power above that of the morning: common
    practice, no source.
    """
    ledger = Ledger(Budget(watts=390.0))
    for card in ("a", "b"):
        ledger.seat(card, 70.0, 300.0, 0.0)
    ledger.ask("a", need(300.0), 0.0)
    assert ledger.answers(0.0) == {"a": Given(bounded=True)}
    reads(ledger, "a", 298.0, 0.0, 10.0)
    ledger.over("a", 10.0)
    ledger.ask("b", need(300.0), 10.0)
    reads(ledger, "a", 90.0, 10.0, 15.0)
    ledger.ask("a", need(300.0), 15.0)
    answers = ledger.answers(15.0)
    assert isinstance(answers["b"], Wait)
    reads(ledger, "a", 90.0, 15.0, MINUTES_S)
    assert not isinstance(ledger.answers(MINUTES_S).get("b"), Wait)


def test_one_high_reading_at_rest_costs_the_neighbour_no_stage() -> None:
    """gave: Never, ten minutes after the only reading that was high."""
    ledger = Ledger(Budget(watts=240.0))
    for card in ("a", "b"):
        ledger.seat(card, 14.0, 136.0, 0.0)
    ledger.reads("a", 100.0, 1.0)
    ledger.ask("b", need(136.0), 1.0)
    assert not isinstance(ledger.answers(1.0)["b"], Never)
    reads(ledger, "a", 14.0, 1.1, MINUTES_S)
    assert ledger.answers(MINUTES_S) == {"b": Given(bounded=True)}


def test_a_card_that_rests_higher_for_good_is_counted_so() -> None:
    ledger = Ledger(Budget(watts=240.0))
    for card in ("a", "b"):
        ledger.seat(card, 14.0, 136.0, 0.0)
    reads(ledger, "a", 120.0, 0.0, MINUTES_S)
    ledger.ask("b", need(136.0), MINUTES_S)
    answer = ledger.answers(MINUTES_S)["b"]
    assert isinstance(answer, Never)
    assert answer.why.means(LeaveReason.NEVER_WATTS)
    assert ledger.counted_w(MINUTES_S) >= 120.0 + 50.0


def test_what_rests_lower_again_counts_a_second_more() -> None:
    ledger = Ledger(Budget(watts=240.0))
    for card in ("a", "b"):
        ledger.seat(card, 14.0, 136.0, 0.0)
    before = 0.0
    for tick in range(1, 6000):
        now_s = tick / 10
        ledger.reads("a", 100.0 if tick < 20 else 14.0, now_s)
        counted_w = ledger.counted_w(now_s)
        if counted_w < before:
            assert now_s >= 3.0
        before = counted_w
    assert before == 100.0
