"""Error readings of a link check, their sums and the bound, each written out by hand."""

from __future__ import annotations

import math
from typing import Any

import pytest

from burnin.card.capabilities import Counter
from burnin.core.count_readings import judge_count
from burnin.core.events import TrafficSummed
from burnin.core.meaning import Reason, Source
from burnin.core.reading import Limit, NotMeasured, Reading, Verdict
from burnin.engine.job import TrafficResult
from burnin.stages.counters import (
    CounterChange,
    WayErrors,
    difference,
    errors_by_direction,
    not_of_the_wire,
    of_way,
    rises,
    uncorrected,
    went_on,
)
from burnin.stages.link.error_rate import Direction, poisson_lower, poisson_upper, seconds_to_show
from burnin.stages.link.error_readings import SPECIFIED_RATE, new_errors
from burnin.stages.link.meanings import LinkReason, LinkSource
from burnin.stages.link.sums import Traffic
from burnin.stages.meanings import StagesReason

CARD, PORT = "card bad TLP (correctable)", "port bad TLP (correctable)"
BITS = 8e12
WHY = Reason("test_why")


def counter(
    value: int, name: str = "bad TLP", end: str = "card", wraps: int | None = None
) -> Counter:
    return Counter(name, end, value, wraps, Source("test"))


def rose(name: str, count: int) -> Reason:
    return StagesReason.COUNTER_ROSE(counter=name, rise_count=count)


# ---- differences


def test_each_counter_of_two_readings_is_told_where_it_belongs() -> None:
    before = (
        counter(3), counter(90, "rx_bytes", wraps=100), counter(9, "bad DLLP"),
        counter(1, "LCRC error"), counter(5, "rx_bytes", "port"),
    )  # fmt: skip
    after = (
        counter(7), counter(10, "rx_bytes", wraps=100), counter(4, "bad DLLP"),
        counter(2, "NAKs sent", "port"), counter(65, "rx_bytes", "port"),
    )  # fmt: skip
    restarted = StagesReason.COUNTER_RESTARTED(counter="card bad DLLP", first=9, last=4)
    gone = StagesReason.COUNTER_ONLY_BEFORE(counter="card LCRC error")
    new = StagesReason.COUNTER_ONLY_AFTER(counter="port NAKs sent")
    found = difference(before, after)
    assert found.errors == {"card bad TLP": 4}
    assert found.other == {"card rx_bytes": 20, "port rx_bytes": 60}
    assert found.broken == {"card bad DLLP": restarted, "card LCRC error": gone}
    assert found.unusable == (gone, new, restarted)


@pytest.mark.parametrize(
    ("last", "wraps", "full"),
    [
        (2**32 - 1, None, True), (2**64 - 1, None, True), (2**32, None, False),
        (2**32 - 2, None, False), (255, 256, True), (254, 256, False),
    ],
)  # fmt: skip
def test_a_counter_that_stands_at_its_end_counts_no_more(
    last: int, wraps: int | None, full: bool
) -> None:
    found = difference((counter(last, wraps=wraps),), (counter(last, wraps=wraps),))
    label = "card bad TLP"
    told = {label: StagesReason.COUNTER_FULL(counter=label, last=last)} if full else {}
    assert found.broken == told
    assert found.errors == ({} if full else {label: 0})


def test_only_counters_that_are_there_still_and_did_not_fall_went_on() -> None:
    before = (counter(3), counter(9, "bad DLLP"), counter(4, "LCRC error"), counter(0, "replays"))
    now = (counter(3), counter(8, "bad DLLP"), counter(0, "replays"))
    assert went_on(before, now) == (before[0], before[3])


def test_what_rose_is_named_and_what_stood_is_not() -> None:
    assert rises({CARD: 0, PORT: 2}) == (rose(PORT, 2),)


# ---- events by direction


def test_events_of_a_way_are_the_fewest_and_the_most_that_explain_its_counters() -> None:
    errors = {
        CARD: 3, "card bad DLLP": 2, "card receiver error": 4, "port replay timer timeout": 1,
        PORT: 0, "card malformed TLP (fatal)": 7, "card odd thing": 6, "card total_err": 9,
    }  # fmt: skip
    found = errors_by_direction(errors)
    assert found == {"to_card": WayErrors(4, 5), "to_host": WayErrors(0, 0)}
    assert of_way(errors, "to_card") == {
        CARD: 3, "card bad DLLP": 2, "card receiver error": 4, "port replay timer timeout": 1,
    }  # fmt: skip
    assert of_way(errors, "to_host") == {PORT: 0}
    assert uncorrected(errors) == {"card malformed TLP (fatal)": 7}
    assert not_of_the_wire(errors) == {"card odd thing": 6}
    assert errors_by_direction({CARD: 9, "card lane error": 12})["to_card"] == WayErrors(12, 12)


def test_a_way_that_no_counter_sees_all_of_is_not_measured() -> None:
    assert errors_by_direction({}) == {
        "to_card": NotMeasured(StagesReason.DAMAGE_TO_CARD_UNSEEN()),
        "to_host": NotMeasured(StagesReason.DAMAGE_TO_HOST_UNSEEN()),
    }
    broken = {"port bad TLP": WHY, "port bad DLLP": Reason("test_second"), "card odd thing": WHY}
    found = errors_by_direction({CARD: 0, PORT: 0}, broken)
    assert found == {"to_card": WayErrors(0, 0), "to_host": NotMeasured(WHY)}


# ---- sums


def test_stretches_are_summed_and_come_back_from_a_record() -> None:
    sums = Traffic()
    for rise in (2, 3):
        sums.add(
            TrafficResult(1.5, 10, 20, 0.0, 0.0, 1),
            CounterChange({CARD: rise}, {"card rx_bytes": 7}, (WHY,), {"card bad DLLP": WHY}),
        )
    expected = Traffic(
        3.0, 20, 40, 2, {CARD: 5}, {"card rx_bytes": 14}, (WHY,), {"card bad DLLP": WHY}
    )
    assert sums == expected
    told = sums.as_event("3-link")
    assert told == TrafficSummed(
        "3-link", 3.0, 20, 40, 2, {CARD: 5}, {"card rx_bytes": 14}, None, {"card bad DLLP": WHY}
    )
    # why a counter could not be used was said when it was; it is not on record again
    assert Traffic.from_event(told) == Traffic(
        3.0, 20, 40, 2, {CARD: 5}, {"card rx_bytes": 14}, (), {"card bad DLLP": WHY}
    )


def test_a_stretch_without_counters_leaves_none_and_keeps_its_bytes() -> None:
    sums = Traffic(1.0, 1, 2, 0, {CARD: 1})
    sums.add(TrafficResult(1.0, 10, 20, 0.0, 0.0, 3), NotMeasured(WHY))
    assert sums == Traffic(2.0, 11, 22, 3, {CARD: 1}, counters_missing=WHY)
    assert Traffic.from_event(sums.as_event("x")) == sums
    assert sums.direction("to_card", 16) == NotMeasured(WHY)
    assert sums.directions(16) == []


def test_both_ways_have_their_own_bits_and_errors() -> None:
    sums = Traffic(1.0, 800, 1600, 0, {CARD: 3, "card bad DLLP": 2, PORT: 1})
    assert sums.directions(8) == [Direction(800, 5, 3, 8), Direction(1600, 1, 1, 8)]
    assert (sums.moved_bytes("to_card"), sums.moved_bytes("to_host")) == (800, 1600)


# ---- the bound


def test_the_bound_is_that_of_chance_over_the_bits_of_one_lane() -> None:
    clean = Direction(10**12, 0, 0, 16)
    assert clean.bits_per_lane == 5e11
    # -ln(0.05) = 2.9957 errors at most, at 95 %
    assert clean.bound_per_lane() == pytest.approx(2.99573 / 5e11, rel=1e-5)
    assert clean.bound_per_lane(0.99) == pytest.approx(4.60517 / 5e11, rel=1e-5)
    assert clean.bound_of_average() == pytest.approx(clean.bound_per_lane() / 16)
    assert clean.bound_of_average(0.99) == pytest.approx(clean.bound_per_lane(0.99) / 16)
    assert clean.shown(clean.bound_per_lane())
    assert not clean.shown(clean.bound_per_lane() * 0.999)
    assert Direction(0, 0, 0, 16).bound_per_lane() == math.inf
    # the most errors count for the bound, the fewest for its refutation
    told = Direction(10**12, 9, 4, 16)
    assert told.bound_per_lane() == pytest.approx(poisson_upper(9) / 5e11)
    rate = poisson_lower(4) / 8e12
    assert not told.refuted(rate)
    assert told.refuted(rate * 0.999)
    assert not Direction(0, 9, 9, 16).refuted(1e-12)


def test_the_time_to_show_a_rate_is_that_of_one_lane_at_its_full_rate() -> None:
    assert seconds_to_show(1e-12, 4) == pytest.approx(2.99573e12 / 16e9, rel=1e-5)
    assert seconds_to_show(1e-12, 3) == pytest.approx(2.99573e12 / 8e9, rel=1e-5)


# ---- readings


def readings(errors: dict[str, int], most: int | None = None, **more: Any) -> dict[str, Reading]:
    sums = Traffic(10.0, 10**12, 10**12, errors=errors, **more)
    return {r.name: r for r in new_errors(sums, 16, most)}


def no_sign(counters: int, count: int, bits: float) -> Source:
    return LinkSource.NO_SIGN(
        counters_count=counters, bits=bits, rate=SPECIFIED_RATE,
        allowed_count=bits * SPECIFIED_RATE, upper_count=poisson_upper(count),
    )  # fmt: skip


def more_than_rate(count: int, bits: float, risen: tuple[Reason, ...]) -> Reason:
    return LinkReason.MORE_THAN_RATE(
        errors_count=count, lower_count=poisson_lower(count), allowed_count=bits * SPECIFIED_RATE,
        rate=SPECIFIED_RATE, risen=risen,
    )  # fmt: skip


def test_quiet_counters_pass_each_way_and_in_all() -> None:
    found = readings({CARD: 0, PORT: 0})
    assert found == {
        "uncorrected_link_errors": Reading(
            "uncorrected_link_errors", 0.0, "", 0.0, Limit(0, 0), (), Verdict.PASS, None,
            LinkSource.COUNTERS(counters_count=0), False,
            rule=found["uncorrected_link_errors"].rule,
        ),
        "link_errors to_card": judge_count(
            "link_errors to_card", 0, 8.0, source=no_sign(1, 0, BITS), required=False
        ),
        "link_errors to_host": judge_count(
            "link_errors to_host", 0, 8.0, source=no_sign(1, 0, BITS), required=False
        ),
        "new_link_errors": judge_count("new_link_errors", 0, 16.0, source=no_sign(2, 0, 2 * BITS)),
    }  # fmt: skip


def test_more_errors_than_the_rate_gives_fail_with_what_rose() -> None:
    found = readings({CARD: 40, PORT: 3})
    assert found["link_errors to_card"] == judge_count(
        "link_errors to_card", 40, 8.0, source=no_sign(1, 40, BITS), required=False,
        why_fail=more_than_rate(40, BITS, (rose(CARD, 40),)),
    )  # fmt: skip
    assert found["link_errors to_card"].verdict is Verdict.FAIL
    assert found["link_errors to_host"].verdict is Verdict.PASS
    assert found["new_link_errors"] == judge_count(
        "new_link_errors", 43, 16.0, source=no_sign(2, 43, 2 * BITS),
        why_fail=more_than_rate(43, 2 * BITS, (rose(CARD, 40), rose(PORT, 3))),
    )  # fmt: skip


@pytest.mark.parametrize(("most", "verdict"), [
    (None, Verdict.PASS), (3, Verdict.PASS), (2, Verdict.UNSURE), (0, Verdict.UNSURE),
])  # fmt: skip
def test_a_profile_may_permit_fewer_than_chance_would(most: int | None, verdict: Verdict) -> None:
    found = readings({CARD: 3, PORT: 0}, most)["new_link_errors"]
    assert found.verdict is verdict
    if verdict is Verdict.UNSURE:
        assert found.reason == LinkReason.NEW_ERRORS_UNPROVEN(
            errors_count=3, risen=(rose(CARD, 3),), rate=SPECIFIED_RATE, allowed_count=16.0
        )
    failed = readings({CARD: 400, PORT: 0}, most)["new_link_errors"]
    assert failed.verdict is Verdict.FAIL


def test_what_the_link_could_not_mend_and_what_is_beside_the_wire() -> None:
    hard, odd = "card malformed TLP (fatal)", "card odd thing"
    found = readings({CARD: 0, PORT: 0, hard: 2, odd: 1})
    mended = found["uncorrected_link_errors"]
    assert (mended.value, mended.verdict) == (2.0, Verdict.FAIL)
    assert mended.reason == LinkReason.UNCORRECTED(risen=(rose(hard, 2),))
    assert mended.source == LinkSource.COUNTERS(counters_count=1)
    strange = found["other_link_errors"]
    assert strange == Reading(
        "other_link_errors", 1.0, "", 0.0, Limit(0, 0), (), Verdict.UNSURE,
        LinkReason.BESIDE_THE_WIRE(risen=(rose(odd, 1),)), LinkSource.COUNTERS(counters_count=1),
    )  # fmt: skip
    assert "other_link_errors" not in readings({CARD: 0, PORT: 0, odd: 0})


def test_a_way_that_broke_off_is_required_and_one_that_nobody_sees_is_not() -> None:
    found = readings({PORT: 0}, broken={CARD: WHY})
    for name, required in (("link_errors to_card", True), ("link_errors to_host", False)):
        assert found[name].required is required
    assert found["link_errors to_card"].reason == WHY
    assert found["new_link_errors"].verdict is Verdict.PASS  # by the way that can be seen
    unseen = readings({PORT: 0})["link_errors to_card"]
    assert (unseen.verdict, unseen.required) == (Verdict.NOT_MEASURED, False)
    none = readings({}, broken={CARD: WHY, PORT: WHY})["new_link_errors"]
    assert (none.verdict, none.required, none.reason) == (Verdict.NOT_MEASURED, True, WHY)
