"""What of a sample may be used, value by value: bounds, leaps and flaws written out by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from burnin.card.meanings import AttributeReason, CardReason
from burnin.core.reading import NotMeasured, ReadingReason
from burnin.core.sample import SampleFlaw, Telemetry
from burnin.guard.sample_trust import (
    PACES,
    POSSIBLE,
    SampleReason,
    SampleTrust,
    answers_wrongly,
    possible,
    why_impossible,
)
from tests.guard.test_guards_by_hand import UNREAD, away, row


@pytest.mark.parametrize("name", sorted(POSSIBLE))
def test_bounds_belong_to_what_a_sensor_can_tell(name: str) -> None:
    low, high = POSSIBLE[name]
    for value in (low, high):
        assert getattr(possible(Telemetry(**{name: value})), name) == value  # type: ignore[arg-type]
    for value in (math.nextafter(low, -math.inf), math.nextafter(high, math.inf)):
        why = getattr(possible(Telemetry(**{name: value})), name)  # type: ignore[arg-type]
        expected = SampleReason.IMPOSSIBLE(value=value, lower=low, upper=high)
        assert why == NotMeasured(expected)
        assert answers_wrongly(why.reason)


def test_what_is_no_number_or_infinite_says_so() -> None:
    assert why_impossible(math.nan, (0.0, 1.0)) == NotMeasured(SampleReason.NO_NUMBER())
    for value in (math.inf, -math.inf):
        assert why_impossible(value, (0.0, 1.0)) == NotMeasured(SampleReason.INFINITE())
    assert why_impossible(0.5, (0.0, 1.0)) is None
    assert not answers_wrongly(ReadingReason.NOT_READ())
    assert answers_wrongly(AttributeReason.NOT_A_NUMBER(name="x", text="y"))
    assert answers_wrongly(CardReason.WRONG_KIND(source="x", value="gpu_temp_c", got="y"))


def test_a_card_at_work_draws_something() -> None:
    trust = SampleTrust()
    asleep = trust.see(row(0.0, 0.0, power_w=0.0)).telemetry.power_w
    assert asleep == 0.0
    for value in (0.0, 0.99):
        why = trust.see(row(1.0, power_w=value)).telemetry.power_w
        assert why == NotMeasured(SampleReason.IMPOSSIBLE(value=value, lower=1.0, upper=2000.0))
    assert trust.see(row(2.0, power_w=1.0)).telemetry.power_w == 1.0


@pytest.mark.parametrize("name", sorted(PACES))
def test_a_leap_is_one_beyond_the_pace_of_its_value(name: str) -> None:
    pace = PACES[name]
    low, _ = POSSIBLE[name]
    start = max(low, 0.0) + 20.0
    reach = pace.at_once + pace.per_s * 0.1
    for step, settled in ((reach * 0.999, True), (reach * 1.001, False)):
        trust = SampleTrust()
        trust.see(row(0.0, **{name: start}))
        told = getattr(trust.see(row(0.1, **{name: start + step})).telemetry, name)
        if start + step > POSSIBLE[name][1]:
            continue
        assert isinstance(told, NotMeasured) != settled


def test_a_leap_that_goes_back_is_forgotten_and_one_that_stands_is_taken() -> None:
    trust = SampleTrust()
    course = [50.0, 90.0, 50.0, 90.0, 90.0, 90.0, 90.0, 90.0]
    told = [
        trust.see(row(n / 10.0, gpu_temp_c=temp_c)).telemetry.gpu_temp_c
        for n, temp_c in enumerate(course)
    ]
    held = NotMeasured(SampleReason.UNSETTLED(value=90.0, before=50.0))
    assert told == [50.0, held, 50.0, held, held, held, 90.0, 90.0]


def test_flaws_of_a_row_stand_in_one_order() -> None:
    trust = SampleTrust()
    trust.see(row(0.0, gpu_temp_c=50.0, power_w=100.0))
    late = replace(
        row(0.1, gpu_temp_c=90.0, power_w=math.nan), flaws=(SampleFlaw.LATE, SampleFlaw.UNKNOWN)
    )
    assert trust.see(late).flaws == (
        SampleFlaw.LATE, SampleFlaw.MISSING, SampleFlaw.IMPOSSIBLE, SampleFlaw.UNSETTLED,
    )  # fmt: skip


def test_a_row_without_any_value_repeats_nothing_and_a_gone_card_neither() -> None:
    trust = SampleTrust()
    empty = dict.fromkeys(POSSIBLE, UNREAD)
    for n in range(3):
        assert SampleFlaw.REPEATED not in trust.see(row(float(n), **empty)).flaws
    trust = SampleTrust()
    same = {"gpu_temp_c": 50.0, "power_w": 100.0}
    trust.see(row(0.0, **same))
    assert SampleFlaw.REPEATED not in trust.see(away(1.0, **same)).flaws
