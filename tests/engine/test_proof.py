"""Proof that an engine works one card and no other, whatever other cards are worked meanwhile."""

from __future__ import annotations

import random
from collections.abc import Callable
from itertools import islice

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.core.reading import NotMeasured
from burnin.core.sample import Telemetry
from burnin.engine.burst_pattern import (
    BLOCK_CHIPS,
    CHIP_S,
    FOLLOWS_T,
    LEAST_CHIPS,
    MOST_CHIPS,
    Point,
    Work,
    chips,
    following,
)
from burnin.engine.cuda.card import told_uuid
from burnin.engine.gentle_share import MEAN_RISE_W, MOST_J, WITHOUT_SENSOR, GentleShare
from burnin.engine.meanings import EngineReason, EngineSource
from burnin.engine.proof import (
    CardTrace,
    ProcessSeen,
    Proof,
    by_address,
    by_pattern,
    by_process,
    by_uuid,
)
from burnin.report.languages.catalogue import catalogue

HERE, THERE = "0000:01:00.0", "0000:02:00.0"
Draws = Callable[[float, bool], Telemetry]


def pattern(seed: str, slices: int = MOST_CHIPS) -> Work:
    work = Work()
    for number, on in enumerate(islice(chips(seed), slices)):
        work.switch(number * CHIP_S, on)
    return work


def trace(name: str, draws: Draws, work: Work, own: Work | None = None) -> CardTrace:
    """A card that works in an order, `work`'s unless `own`, looked at ten times a second."""
    found = CardTrace(name)
    for number in range(int(work.slices * CHIP_S * 10)):
        at_s = number / 10.0
        found.add(at_s, draws(at_s, (own or work).was_on(at_s)))
    return found


def noisy(rise_w: float, seed: int, noise_w: float = 0.5) -> Draws:
    chance = random.Random(seed)
    return lambda _, on: Telemetry(power_w=70.0 + rise_w * on + chance.gauss(0.0, noise_w))


def judged(card: CardTrace, others: list[CardTrace], work: Work) -> Proof | None:
    return by_pattern(card, card.strongest(work), others, work)


@given(st.text(max_size=20), st.text(max_size=20))
def test_a_pattern_is_the_run_s_own_and_half_of_it_is_work(first: str, second: str) -> None:
    one = list(islice(chips(first), MOST_CHIPS))
    assert one == list(islice(chips(first), MOST_CHIPS))
    for block in range(0, MOST_CHIPS, BLOCK_CHIPS):
        assert sum(one[block : block + BLOCK_CHIPS]) == BLOCK_CHIPS // 2
    if first != second:
        assert one != list(islice(chips(second), MOST_CHIPS))


def test_a_card_that_follows_is_proven_early() -> None:
    work = pattern("run", LEAST_CHIPS)
    proof = judged(trace(HERE, noisy(20.0, 1), work), [], work)
    assert proof is not None
    assert proof.proven is True
    assert proof.why.means(EngineReason.THIS_CARD_FOLLOWED)
    assert proof.source == EngineSource.COUNTERS_UNDER_WORK(seen=proof.why)
    assert "power_w" in catalogue("en").say(proof.why)


@pytest.mark.parametrize("lag_s", [0.0, 0.15, 0.5, 1.0])
@pytest.mark.parametrize("average_s", [0.05, 0.5, 1.0])
def test_a_sensor_that_lags_and_averages_follows_all_the_same(
    lag_s: float, average_s: float
) -> None:
    work = pattern("run", 24)
    points = [
        Point(n / 10.0, 70.0 + 30.0 * work.share(n / 10.0 - lag_s, average_s))
        for n in range(120)
    ]
    assert following(points, work) > FOLLOWS_T


def test_another_run_s_work_does_not_follow_in_two_hundred_tries() -> None:
    work = pattern("ours")
    strangers = [
        max(trace(THERE, noisy(200.0, n), work, pattern(f"theirs {n}")).strongest(work).values())
        for n in range(200)
    ]
    assert sum(t >= FOLLOWS_T for t in strangers) <= 1


def steps(at_s: float, _: bool) -> Telemetry:
    return Telemetry(power_w=70.0 if at_s < 3.0 else 300.0 + at_s)


def steady(at_s: float, _: bool) -> Telemetry:
    return Telemetry(busy_pct=100.0, power_w=300.0 + 2.0 * at_s)


@pytest.mark.parametrize("stranger", [steps, steady])
def test_a_load_on_another_card_changes_nothing(stranger: Draws) -> None:
    work = pattern("ours", MOST_CHIPS)
    other = trace(THERE, stranger, work)
    proof = judged(trace(HERE, noisy(20.0, 1), work), [other], work)
    assert proof is not None
    assert proof.proven is True


def test_work_on_the_wrong_card_is_found_out_though_this_one_is_worked_by_others() -> None:
    work = pattern("ours")
    mine = trace(HERE, noisy(100.0, 1), work, pattern("theirs"))
    proof = judged(mine, [trace(THERE, noisy(20.0, 2), work)], work)
    assert proof == Proof(False, EngineReason.OTHER_CARD_FOLLOWED(address=THERE))


def test_work_that_shows_nowhere_or_on_both_proves_nothing() -> None:
    work = pattern("ours")
    still = trace(HERE, noisy(0.0, 1), work)
    nowhere = judged(still, [], work)
    assert nowhere == Proof(False, EngineReason.NO_COUNTER_FOLLOWED(slices_count=MOST_CHIPS))
    both = judged(trace(HERE, noisy(20.0, 1), work), [trace(THERE, noisy(20.0, 2), work)], work)
    assert both == Proof(False, EngineReason.OTHER_CARD_FOLLOWED_TOO(address=THERE))


def test_what_is_not_clear_goes_on() -> None:
    short = pattern("ours", LEAST_CHIPS - BLOCK_CHIPS)
    assert judged(trace(HERE, noisy(20.0, 1), short), [], short) is None
    faint = pattern("ours", LEAST_CHIPS)
    assert judged(trace(HERE, noisy(0.0, 1), faint), [], faint) is None


def test_a_card_without_counters_is_not_measured() -> None:
    work = pattern("ours", LEAST_CHIPS)
    proof = judged(trace(HERE, lambda *_: Telemetry(), work), [], work)
    assert proof is not None
    assert isinstance(proof.proven, NotMeasured)


def test_clocks_are_looked_at_where_there_is_nothing_else() -> None:
    work = pattern("ours")
    clocked = trace(HERE, lambda _, on: Telemetry(core_clock_mhz=1900.0 if on else 300.0), work)
    assert set(clocked.strongest(work)) == {"core_clock_mhz"}
    proof = judged(clocked, [], work)
    assert proof is not None
    assert proof.proven is True


def test_a_bus_address_is_compared_as_numbers() -> None:
    assert by_address("", HERE) is None
    assert by_address("00000000:01:00.0", HERE) == Proof(
        True, EngineReason.SAME_ADDRESS(address=HERE)
    )
    other = by_address(THERE, HERE)
    assert other == Proof(False, EngineReason.OTHER_ADDRESS(address=THERE, wanted=HERE))


LISTED, ABSENT = ProcessSeen(True), ProcessSeen(False)


def busy(before_ns: int, after_ns: int) -> tuple[ProcessSeen, ProcessSeen]:
    return ProcessSeen(True, before_ns), ProcessSeen(True, after_ns)


def test_a_process_at_one_card_alone_owns_its_work() -> None:
    proof = by_process(7, (ABSENT, LISTED), [(ABSENT, ABSENT)])
    assert proof == Proof(True, EngineReason.PROCESS_ON_CARD(pid=7))
    assert by_process(7, busy(5, 900), [busy(4, 4)]) == proof


def test_a_process_at_both_or_at_none_decides_nothing() -> None:
    assert by_process(7, (LISTED, LISTED), [(LISTED, LISTED)]) is None
    assert by_process(7, (ABSENT, ABSENT), [(ABSENT, LISTED)]) is None
    assert by_process(7, busy(5, 5), [busy(4, 900)]) is None
    assert by_process(7, (LISTED, LISTED), [(None, None)]) is None
    assert by_process(7, (None, None), []) is None


UUID = "GPU-01020304-0506-0708-090a-0b0c0d0e0f10"


def test_a_card_s_own_uuid_proves_it_and_another_one_decides_nothing() -> None:
    assert by_uuid(UUID, UUID.upper()) == Proof(True, EngineReason.SAME_UUID(uuid=UUID.upper()))
    assert by_uuid("", UUID) is None
    assert by_uuid(UUID, UUID[:-1] + "1") is None
    assert by_uuid(UUID, NotMeasured(EngineReason.NO_COUNTERS())) is None


def test_sixteen_bytes_are_a_uuid_and_fewer_are_none() -> None:
    assert told_uuid(bytes(range(1, 17))) == UUID
    assert told_uuid(bytes(range(1, 16))) == ""
    assert told_uuid(None) == ""


def worked(
    gentle: GentleShare, full_w: float, waking_w: float, stays_awake: bool = False
) -> int:
    """The slices of a proof on such a card, until it may take no more heat; their number."""
    woken = False
    for number, on in enumerate(islice(chips("run"), MOST_CHIPS), start=1):
        woken = (woken and stays_awake) or on
        for look in range(5):
            at_s = (number - 1) * CHIP_S + look * CHIP_S / 5
            gentle.see(at_s, 70.0 + waking_w * woken + full_w * gentle.share * on)
        if number % BLOCK_CHIPS == 0:
            gentle.next(seen=full_w * gentle.share > 5.0)
            if gentle.spent:
                return number
    return MOST_CHIPS


@pytest.mark.parametrize("full_w", [60.0, 300.0, 700.0, 1500.0])
@pytest.mark.parametrize("waking_w", [0.0, 40.0])
def test_the_slices_are_gentle_in_the_mean(full_w: float, waking_w: float) -> None:
    """`waking_w`: what clocks that rise draw, however little the work is, while it is on."""
    gentle = GentleShare(70.0)
    slices = worked(gentle, full_w, waking_w)
    assert 0.0 < gentle.mean_rise_w <= MEAN_RISE_W
    assert gentle.energy_j == pytest.approx(gentle.mean_rise_w * slices * CHIP_S, rel=0.05)


@pytest.mark.parametrize("waking_w", [60.0, 120.0])
def test_clocks_that_stay_awake_take_a_proof_to_its_end_not_over_its_heat(
    waking_w: float,
) -> None:
    """No share makes it less: the slices stay as large as can be seen, and fewer are given."""
    gentle = GentleShare(70.0)
    slices = worked(gentle, 300.0, waking_w, stays_awake=True)
    assert LEAST_CHIPS <= slices < MOST_CHIPS
    assert 0.5 * MOST_J < gentle.energy_j <= MOST_J
    assert 300.0 * gentle.share > 5.0


def test_without_a_power_sensor_the_share_stays_where_it_is_gentle_on_a_large_card() -> None:
    gentle = GentleShare(None)
    assert WITHOUT_SENSOR * 660.0 / 2.0 <= MEAN_RISE_W
    assert gentle.share == WITHOUT_SENSOR
    assert gentle.next(seen=False) == gentle.next(seen=True) == WITHOUT_SENSOR


def test_a_proof_that_may_take_no_more_heat_accuses_nobody() -> None:
    work = pattern("ours", LEAST_CHIPS)
    still = trace(HERE, noisy(0.0, 1), work)
    spent = by_pattern(still, still.strongest(work), [], work, spent_j=790.0)
    assert spent is not None
    assert isinstance(spent.proven, NotMeasured)
    assert spent.why.means(EngineReason.PROOF_HEAT_SPENT)
    stranger = trace(THERE, noisy(20.0, 2), work)
    other = by_pattern(still, still.strongest(work), [stranger], work, spent_j=790.0)
    assert other == Proof(False, EngineReason.OTHER_CARD_FOLLOWED(address=THERE))
    clear = trace(HERE, noisy(20.0, 1), work)
    found = by_pattern(clear, clear.strongest(work), [], work, spent_j=790.0)
    assert found is not None
    assert found.proven is True
