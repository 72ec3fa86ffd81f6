"""The watts of a bench are never given twice, whatever cards do, and nobody waits for ever."""

from __future__ import annotations

from dataclasses import dataclass, field

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from burnin.core.meaning import ReasonCode
from burnin.run.batch.budget import Budget, PowerOfBench
from burnin.run.batch.ledger import WINDOW_S, Ledger
from burnin.run.leave.giver import Answer, Given, Never, Wait
from burnin.run.leave.meanings import LeaveReason, LeaveTerm
from burnin.run.leave.need import Need

A, B, C = "0000:01:00.0", "0000:02:00.0", "0000:03:00.0"


def need(watts: float | None, *ways: str, step_w: float | None = None) -> Need:
    step = step_w if step_w is not None else watts or 0.0
    return Need("memory", watts, step, LeaveTerm.BY_OWN_LIMIT(), frozenset(ways))


def bench(budget: Budget | None, *cards: str, rest_w: float = 20.0) -> Ledger:
    ledger = Ledger(budget)
    for card in cards:
        ledger.seat(card, rest_w, 300.0, 0.0)
    return ledger


def why(answer: Answer) -> str:
    assert isinstance(answer, Wait | Never)
    return answer.why.code


def waits_for(answer: Answer, code: ReasonCode) -> bool:
    return isinstance(answer, Wait) and answer.why.means(code)


def test_what_supply_and_circuit_leave_for_the_cards() -> None:
    both = PowerOfBench(supply_w=1600.0, circuit_w=2000.0, bench_w=200.0, beside_w=250.0,
                        supply_efficiency=0.8)  # fmt: skip
    assert both.budget().watts == pytest.approx((2000.0 - 250.0) * 0.8 - 200.0)
    assert PowerOfBench(supply_w=1000.0, bench_w=200.0).budget().watts == 800.0
    with pytest.raises(ValueError, match="leave nothing"):
        PowerOfBench(supply_w=200.0, bench_w=200.0)
    with pytest.raises(ValueError, match="supply_w, circuit_w"):
        PowerOfBench(bench_w=200.0)


def test_a_second_card_waits_until_the_first_ones_reading_has_fallen() -> None:
    ledger = bench(Budget(400.0), A, B)
    ledger.ask(A, need(300.0), 1.0)
    ledger.ask(B, need(300.0), 1.0)
    said = ledger.answers(1.0)
    assert isinstance(said[A], Given)
    assert waits_for(said[B], LeaveReason.WATTS_TAKEN)
    ledger.over(A, 10.0)
    ledger.reads(A, 290.0, 10.5)
    ledger.reads(A, 280.0, 12.0)  # the load is off, and yet it draws: a trip that did not reach it
    assert waits_for(ledger.answers(12.0)[B], LeaveReason.WATTS_TAKEN)
    ledger.reads(A, 25.0, 12.5)  # within the second there was more
    ledger.reads(A, 25.0, 13.6)
    assert ledger.at_rest(A)
    assert waits_for(ledger.answers(13.7)[B], LeaveReason.WATTS_TAKEN)  # no netting in a second
    assert isinstance(ledger.answers(14.7)[B], Given)


def test_a_dip_while_a_card_works_or_right_after_gives_nothing_back() -> None:
    ledger = bench(Budget(400.0), A)
    ledger.ask(A, need(300.0), 0.0)
    ledger.answers(0.0)
    ledger.reads(A, 25.0, 5.0)  # between two slices of work
    assert ledger.counted_w(9.0) == 300.0
    ledger.over(A, 10.0)
    ledger.reads(A, 25.0, 10.3)
    assert not ledger.at_rest(A)
    ledger.reads(A, 25.0, 11.4)
    assert ledger.at_rest(A)


def test_a_card_is_never_counted_below_what_it_reads() -> None:
    ledger = bench(Budget(400.0), A, B)
    ledger.reads(A, 80.0, 1.0)  # its driver woke it up
    assert ledger.counted_w(1.0) >= 80.0 + 50.0
    ledger.ask(A, need(150.0), 2.0)
    ledger.answers(2.0)
    ledger.reads(A, 180.0, 3.0)
    assert ledger.counted_w(3.0) == 180.0 + 50.0


def test_what_others_hold_now_is_not_free_though_it_will_be() -> None:
    ledger = bench(Budget(400.0), A, B)
    ledger.ask(B, need(100.0), 0.0)
    ledger.answers(0.0)
    ledger.ask(A, need(320.0), 0.0)
    assert waits_for(ledger.answers(0.0)[A], LeaveReason.WATTS_TAKEN)
    ledger.ask(A, need(300.0), 0.0)
    assert isinstance(ledger.answers(0.0)[A], Given)


def test_whoever_asks_again_has_ended_what_went_before() -> None:
    ledger = bench(Budget(400.0), A)
    ledger.ask(A, need(300.0), 0.0)
    ledger.answers(0.0)
    ledger.ask(A, need(900.0), 10.0)
    assert why(ledger.answers(10.0)[A]) == LeaveReason.NEVER_WATTS.value
    ledger.reads(A, 25.0, 11.5)
    assert ledger.at_rest(A)


def test_a_killed_run_keeps_its_watts_until_it_is_known_to_be_gone() -> None:
    ledger = bench(Budget(400.0), A, B)
    ledger.ask(A, need(300.0), 1.0)
    ledger.ask(B, need(300.0), 1.0)
    ledger.answers(1.0)
    assert isinstance(ledger.answers(500.0)[B], Wait)
    ledger.gone(A, 501.0)
    assert isinstance(ledger.answers(501.5)[B], Wait)
    assert isinstance(ledger.answers(502.1)[B], Given)


def test_an_unmeasured_card_counts_at_its_limit_all_the_while() -> None:
    ledger = Ledger(Budget(500.0))
    ledger.seat(A, None, 300.0, 0.0)
    ledger.seat(B, 20.0, 300.0, 0.0)
    ledger.ask(A, need(300.0), 0.0)
    ledger.ask(B, need(300.0), 0.0)
    said = ledger.answers(0.0)
    assert isinstance(said[A], Given)
    assert why(said[B]) == LeaveReason.NEVER_WATTS.value
    ledger.over(A, 1.0)
    assert ledger.counted_w(9.0) == pytest.approx(300.0 + 50.0)


def test_a_card_of_which_nobody_says_what_it_may_draw_is_never_loaded_within_a_budget() -> None:
    ledger = Ledger(Budget(500.0))
    ledger.seat(A, 20.0, None, 0.0)
    ledger.ask(A, need(None), 0.0)
    assert why(ledger.answers(0.0)[A]) == LeaveReason.NEVER_KNOWN.value
    said = Ledger(Budget(500.0, card_w_at_most=350.0))
    said.seat(A, 20.0, None, 0.0)
    said.ask(A, need(None), 0.0)
    assert isinstance(said.answers(0.0)[A], Given)
    assert said.counted_w(0.0) == pytest.approx(350.0)
    free = Ledger(None)
    free.seat(A, None, None, 0.0)
    free.ask(A, need(None), 0.0)
    assert free.answers(0.0)[A] == Given(bounded=False)


def test_what_can_never_fit_is_said_at_once_and_holds_up_nobody() -> None:
    ledger = bench(Budget(400.0), A, B)
    ledger.ask(A, need(390.0), 0.0)
    ledger.ask(B, need(300.0), 0.0)
    said = ledger.answers(0.0)
    assert why(said[A]) == LeaveReason.NEVER_WATTS.value
    assert isinstance(said[B], Given)


def test_one_that_waits_for_watts_is_not_overtaken_by_one_that_needs_fewer() -> None:
    ledger = bench(Budget(500.0), A, B, C)
    ledger.ask(A, need(300.0), 0.0)
    ledger.answers(0.0)
    ledger.ask(B, need(300.0), 1.0)
    ledger.ask(C, need(60.0), 2.0)
    said = ledger.answers(2.0)
    assert waits_for(said[B], LeaveReason.WATTS_TAKEN)
    assert waits_for(said[C], LeaveReason.BEHIND)
    ledger.gone(A, 3.0)
    assert all(isinstance(answer, Given) for answer in ledger.answers(5.0).values())


def test_steps_that_may_come_together_stay_within_the_rise_that_is_allowed() -> None:
    ledger = bench(Budget(900.0, step_w_per_s=350.0), A, B, C)
    ledger.ask(A, need(300.0, step_w=300.0), 0.0)
    ledger.ask(B, need(300.0, step_w=75.0), 0.0)
    ledger.ask(C, need(300.0, step_w=400.0), 0.0)
    said = ledger.answers(0.0)
    assert isinstance(said[A], Given)
    assert waits_for(said[B], LeaveReason.STEP_TAKEN)
    assert why(said[C]) == LeaveReason.NEVER_STEP.value
    ledger.over(A, 5.0)
    assert isinstance(ledger.answers(5.0)[B], Given)


def test_traffic_over_a_shared_link_is_one_after_the_other_in_the_order_of_asking() -> None:
    ledger = bench(None, A, B, C)
    ledger.ask(A, need(100.0, "bridge", "port a"), 0.0)
    ledger.ask(B, need(100.0, "bridge", "port b"), 0.0)
    ledger.ask(C, need(100.0, "port c"), 0.0)
    said = ledger.answers(0.0)
    assert isinstance(said[A], Given)
    assert isinstance(said[C], Given)
    assert waits_for(said[B], LeaveReason.LINK_TAKEN)
    ledger.over(A, 1.0)
    ledger.ask(A, need(100.0, "bridge", "port a"), 1.0)
    said = ledger.answers(1.0)
    assert isinstance(said[B], Given)
    assert waits_for(said[A], LeaveReason.LINK_TAKEN)


def test_one_that_waits_for_two_links_is_not_passed_by_one_that_needs_the_free_one() -> None:
    ledger = bench(None, A, B, C)
    ledger.ask(A, need(100.0, "x"), 0.0)
    ledger.answers(0.0)
    ledger.ask(B, need(100.0, "x", "y"), 1.0)
    ledger.ask(C, need(100.0, "y"), 2.0)
    assert waits_for(ledger.answers(2.0)[C], LeaveReason.LINK_TAKEN)
    ledger.over(A, 3.0)
    said = ledger.answers(3.0)
    assert isinstance(said[B], Given)
    assert waits_for(said[C], LeaveReason.LINK_TAKEN)


def test_a_card_whose_way_is_unknown_fills_no_link_beside_another() -> None:
    ledger = bench(None, A, B)
    unknown = Need("link", 100.0, 100.0, LeaveTerm.BY_OWN_LIMIT(), None)
    ledger.ask(A, need(100.0, "port a"), 0.0)
    ledger.ask(B, unknown, 0.0)
    assert waits_for(ledger.answers(0.0)[B], LeaveReason.WAY_UNKNOWN)
    ledger.stuck(A)  # nobody moves anything there any more
    assert isinstance(ledger.answers(1.0)[B], Given)


def test_what_hangs_with_its_watts_makes_others_not_measured_instead_of_waiting_for_ever() -> None:
    ledger = bench(Budget(400.0), A, B)
    ledger.ask(A, need(300.0), 0.0)
    ledger.ask(B, need(300.0), 0.0)
    ledger.answers(0.0)
    ledger.stuck(A)
    assert why(ledger.answers(60.0)[B]) == LeaveReason.NEVER_WATTS.value


@dataclass
class Benches:
    """Cards that do what chance says, and what all of them are counted at, moment by moment."""

    ledger: Ledger = field(default_factory=lambda: Ledger(Budget(700.0, step_w_per_s=500.0)))
    rows: list[tuple[float, str, float]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.ledger = Ledger(
            self.ledger.budget, lambda at, card, _what, watts: self.rows.append((at, card, watts))
        )
        for card in (A, B, C):
            self.ledger.seat(card, 20.0, 300.0, 0.0)

    def most_in_any_second(self) -> float:
        """The sum of each card's highest count within a span of a second, the worst span."""
        worst = 0.0
        for end_s, _, _ in self.rows:
            most = {A: 0.0, B: 0.0, C: 0.0}
            for at_s, card, watts in self.rows:
                if at_s <= end_s - WINDOW_S:
                    most[card] = watts  # what stood when the span began
                elif at_s <= end_s:
                    most[card] = max(most[card], watts)
            worst = max(worst, sum(most.values()))
        return worst


STEPS = st.lists(
    st.tuples(
        st.floats(0.01, 1.5),
        st.sampled_from((A, B, C)),
        st.sampled_from(("ask", "over", "falls", "stays", "gone")),
        st.floats(60.0, 640.0),
    ),
    max_size=40,
)


@settings(max_examples=40)
@given(STEPS)
def test_in_no_second_is_more_than_the_budget_given(
    steps: list[tuple[float, str, str, float]],
) -> None:
    benches, now_s = Benches(), 1.0
    ledger = benches.ledger
    waiting: set[str] = set()
    for wait_s, card, what, watts in steps:
        now_s += wait_s
        if what == "ask" and card not in waiting:
            ledger.ask(card, need(watts, step_w=min(watts, 200.0)), now_s)
            waiting.add(card)
        elif what in ("over", "gone"):
            waiting.discard(card)
            ledger.over(card, now_s) if what == "over" else ledger.gone(card, now_s)
        elif what == "falls":
            ledger.reads(card, 20.0, now_s)
        else:
            ledger.reads(card, 20.0 if ledger.at_rest(card) else 60.0, now_s)
        for asked, answer in ledger.answers(now_s).items():
            if not isinstance(answer, Wait):
                waiting.discard(asked)
    assert benches.most_in_any_second() <= 700.0 + 1e-6
    assert ledger.counted_w(now_s) <= 700.0 + 1e-6
