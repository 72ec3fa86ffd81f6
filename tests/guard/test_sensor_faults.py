"""Sensors that fail while the fans stall: no guard dies, and the card grows no hotter for it."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from burnin.core.meaning import Meaning
from burnin.core.reading import NotMeasured
from burnin.core.sample import Sample, SampleFlaw, Telemetry
from burnin.guard.factory import make_guards
from burnin.guard.meanings import GuardReason
from burnin.guard.sample_trust import SampleReason, SampleTrust
from burnin.profile.guards import Guards
from tests.guard.stalled_fan import Watched, watched

HOTTER_K = 2.0
SENSORS = st.sampled_from(("die", "hotspot", "memory", "power", "energy", "fan"))
IMPOSSIBLE: tuple[dict[str, Any], ...] = (
    *({"state": "stuck", "value": value} for value in (math.nan, math.inf, -math.inf, 2.0**31)),
    {"state": "stuck", "value": -1e4},
    {"state": "unreadable"},
)
LEAPS: tuple[dict[str, Any], ...] = (
    *({"state": "biased", "bias": bias} for bias in (-40.0, 40.0)),
    *({"state": "stuck", "value": value} for value in (-1.0, 0.0)),
)
MOMENTS_S = st.floats(122.0, 176.0)


@cache
def honest() -> Watched:
    return watched()


def fault(sensor: str, kind: dict[str, Any], after_s: float, **life: object) -> dict[str, Any]:
    return {"kind": "sensor", "sensor": sensor, "after_s": after_s} | kind | life


def never_hotter(sensor: str, kind: dict[str, Any], after_s: float, reads: int | None) -> None:
    life = {} if reads is None else {"for_reads": reads}
    seen = watched(fault(sensor, kind, after_s, **life))
    assert seen.trip is not None
    assert seen.peak_c <= honest().peak_c + HOTTER_K
    if reads is not None:  # nor did so few wrong values stop the load
        assert seen.peak_c >= honest().peak_c - HOTTER_K


@settings(max_examples=4, deadline=None, derandomize=True)
@given(SENSORS, st.sampled_from(IMPOSSIBLE), MOMENTS_S, st.sampled_from((1, None)))
def test_what_cannot_be_makes_no_card_hotter(
    sensor: str, kind: dict[str, Any], after_s: float, reads: int | None
) -> None:
    never_hotter(sensor, kind, after_s, reads)


@settings(max_examples=3, deadline=None, derandomize=True)
@given(SENSORS, st.sampled_from(LEAPS), MOMENTS_S)
def test_one_wrong_value_neither_stops_a_load_nor_blinds(
    sensor: str, kind: dict[str, Any], after_s: float
) -> None:
    never_hotter(sensor, kind, after_s, 1)


@pytest.mark.many
@pytest.mark.long
@settings(max_examples=300, deadline=None)
@given(
    SENSORS,
    st.sampled_from((*IMPOSSIBLE, *LEAPS)),
    MOMENTS_S,
    st.sampled_from((1, 2, None)),
)
def test_no_fault_of_a_sensor_makes_a_card_hotter(
    sensor: str, kind: dict[str, Any], after_s: float, reads: int | None
) -> None:
    never_hotter(sensor, kind, after_s, reads)


@pytest.mark.long
@pytest.mark.parametrize(
    ("sensor", "value"), [("fan", -1.0), ("power", -40.0), ("die", math.nan)]
)
@pytest.mark.parametrize("reads", [1, None])
@pytest.mark.parametrize("after_s", [0.0, 126.0, 160.0])
def test_the_faults_that_were_seen(
    sensor: str, value: float, reads: int | None, after_s: float
) -> None:
    never_hotter(sensor, {"state": "stuck", "value": value}, after_s, reads)


def test_a_blind_guard_ends_the_load_by_its_patience_and_says_which() -> None:
    seen = watched(fault("fan", {"state": "stuck", "value": -1.0}, 140.0), stalls=False)
    assert seen.trip is not None
    assert seen.trip.reason.means(GuardReason.BLIND)
    because = seen.trip.reason["because"]
    assert isinstance(because, Meaning)
    assert because.means(SampleReason.IMPOSSIBLE)
    assert 5.0 <= seen.after_s - 20.0 <= 5.5


def test_a_wrong_value_is_a_row_with_the_code_of_its_reason_and_nothing_in_its_place() -> None:
    seen = watched(fault("die", {"state": "stuck", "value": 2.0**31}, 140.0, for_reads=1))
    [row] = [one for one in seen.samples if SampleFlaw.IMPOSSIBLE in one.flaws]
    value = row.telemetry.gpu_temp_c
    assert isinstance(value, NotMeasured)
    assert value.reason.means(SampleReason.IMPOSSIBLE)
    assert value.reason["value"] == 2.0**31
    assert SampleFlaw.MISSING in row.flaws


def row(time_s: float, **told: float | NotMeasured) -> Sample:
    return Sample(time_s, "", "x", Telemetry(**told), 1.0)  # type: ignore[arg-type]


def test_a_leap_waits_until_it_is_borne_out() -> None:
    trust = SampleTrust()
    course = [50.0] * 5 + [90.0] * 6
    told = [
        trust.see(row(0.1 * n, gpu_temp_c=temp_c)).telemetry.gpu_temp_c
        for n, temp_c in enumerate(course)
    ]
    good = [value for value in told if not isinstance(value, NotMeasured)]
    assert good == [50.0] * 5 + [90.0] * 3
    held = told[5]
    assert isinstance(held, NotMeasured)
    assert held.reason == SampleReason.UNSETTLED(value=90.0, before=50.0)


@given(
    st.lists(
        st.one_of(st.floats(-60.0, 210.0), st.sampled_from((math.nan, math.inf))),
        min_size=1,
        max_size=40,
    ),
    st.sampled_from((0.05, 0.1, 1.0)),
)
def test_a_row_that_was_looked_through_stays_as_it_is(temps_c: list[float], every_s: float) -> None:
    first, again = SampleTrust(), SampleTrust()
    for n, temp_c in enumerate(temps_c):
        once = first.see(row(every_s * n, gpu_temp_c=temp_c, power_w=100.0))
        assert again.see(once) == once


def test_a_row_that_repeats_the_one_before_says_so() -> None:
    trust = SampleTrust()
    same = {"gpu_temp_c": 50.0, "power_w": 100.0}
    assert SampleFlaw.REPEATED not in trust.see(row(0.0, **same)).flaws
    assert trust.see(row(0.1, **same)).flaws == (SampleFlaw.REPEATED,)
    assert trust.see(row(0.2, **{**same, "power_w": 101.0})).flaws == ()


def test_without_load_nobody_is_stopped_for_a_sensor_that_is_silent() -> None:
    guards = make_guards(Guards(gpu_temp_limit_c=90.0))
    for n in range(200):
        assert guards.judge(replace(row(0.1 * n, power_w=20.0 + n % 3), load_share=0.0)) is None
