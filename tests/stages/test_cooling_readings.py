"""Verdicts on the cooling: sound passes, a fault fails with what to check, a guess does neither."""

from __future__ import annotations

import pytest

from burnin.core.reading import Reading, Verdict
from burnin.report.languages.catalogue import catalogue
from burnin.stages.thermal_ramp.cooling_readings import EndOfLoad, cooling_readings
from burnin.stages.thermal_ramp.cooling_state_reading import judge_state
from burnin.stages.thermal_ramp.meanings import ThermalRampReason, ThermalRampSource
from burnin.stages.thermal_ramp.ramp_trace import RampTrace
from burnin.stages.thermal_ramp.settings import OwnPlan, RampStep, ThermalRamp
from burnin.thermal.cooling_verdict import CoolingVerdict, judge_cooling, name_state, rise_at
from burnin.thermal.estimator import CoolingWatch
from burnin.thermal.inputs import Limits, Setup
from burnin.thermal.meanings import RampReason
from burnin.thermal.states import Cooling, term_of
from tests.thermal.cards import DRY, LOOP_LIKE, LOOSE, OneBlock

LOOP, EMPTY, BAD = Cooling.HEALTHY_LOOP, Cooling.NO_COOLANT, Cooling.POOR_MOUNT
STEPS = (RampStep(load_share=1.0, hold_s=10.0),)


def verdict(chances: dict[Cooling, float]) -> CoolingVerdict:
    whole = dict.fromkeys(Cooling, 0.0) | chances
    state, probability = name_state(whole)
    return CoolingVerdict(state, probability, whole, {}, {}, None)


@pytest.mark.parametrize(
    ("chances", "expected", "told"),
    [
        ({LOOP: 0.97, BAD: 0.03}, Verdict.PASS, ""),
        ({LOOP: 0.80, BAD: 0.20}, Verdict.UNSURE, "poor mount (20 %)"),
        ({LOOP: 0.60, BAD: 0.40}, Verdict.NOT_MEASURED, "cannot tell yet"),
        ({BAD: 0.95, LOOP: 0.05}, Verdict.FAIL, "Are all screws in"),
        ({BAD: 0.80, LOOP: 0.20}, Verdict.UNSURE, "not sure enough"),
        ({EMPTY: 0.60, Cooling.FLOW_LOST: 0.39, LOOP: 0.01}, Verdict.FAIL, "Is a loop attached"),
        ({Cooling.UNKNOWN: 0.98, LOOP: 0.02}, Verdict.UNSURE, "no model of the cooling explains"),
        ({Cooling.UNKNOWN: 0.50, BAD: 0.50}, Verdict.NOT_MEASURED, "cannot tell yet"),
        ({EMPTY: 0.50, Cooling.FLOW_LOST: 0.40, LOOP: 0.10}, Verdict.NOT_MEASURED, "cannot tell"),
    ],
)
def test_the_state_is_judged_by_how_sure_it_is(
    chances: dict[Cooling, float], expected: Verdict, told: str
) -> None:
    found = judge_state(verdict(chances), False, None)
    assert found.verdict is expected
    assert told in catalogue().say(found.reason)


def test_a_missing_loop_that_was_announced_is_no_fault_and_no_pass() -> None:
    dry = judge_state(verdict({EMPTY: 0.6, Cooling.FLOW_LOST: 0.35, BAD: 0.05}), True, None)
    assert (dry.value, dry.verdict) == ("no coolant", None)
    loose = judge_state(verdict({BAD: 0.95, EMPTY: 0.05}), True, None)
    assert loose.verdict is Verdict.FAIL
    wet = judge_state(verdict({LOOP: 0.95, EMPTY: 0.05}), True, None)
    assert wet.verdict is Verdict.UNSURE


def test_a_ramp_that_could_not_reach_its_top_passes_no_state() -> None:
    crossed = RampReason.WOULD_CROSS(next_w=300.0, state=term_of(BAD))
    cut = ThermalRampReason.ENDED_BY_PLAN(reason=crossed)
    found = judge_state(verdict({LOOP: 0.99, BAD: 0.01}), False, None, cut)
    assert found.verdict is Verdict.UNSURE
    assert found.reason is not None
    assert found.reason.means(ThermalRampReason.LOOKS_SO)
    assert found.reason["reason"] == cut


def means(reading: Reading, code: ThermalRampReason) -> bool:
    return reading.reason is not None and reading.reason.means(code)


def watched(card: OneBlock, plan: tuple[tuple[float, float], ...], until_s: float) -> CoolingWatch:
    watch = CoolingWatch(Setup(Limits(95.0), None, card.room_c, False))
    for row in card.rows(plan, until_s):
        watch.see(row)
    return watch


def by_name(watch: CoolingWatch, settings: ThermalRamp) -> dict[str, Reading]:
    found = cooling_readings(watch, settings, RampTrace(), EndOfLoad(None, None))
    return {r.name: r for r in found}


def ramp(**fields: object) -> ThermalRamp:
    return ThermalRamp.model_validate({"stage": "thermal_ramp", "steps": STEPS} | fields)


PLAN = ((0.0, 15.0), (5.0, 120.0), (45.0, 260.0))


def test_an_element_is_judged_by_its_whole_interval() -> None:
    watch = watched(LOOP_LIKE, PLAN, 110.0)
    truth = LOOP_LIKE.mount_k_per_w
    for most, expected in (
        (0.10, Verdict.PASS),
        (truth, Verdict.UNSURE),
        (0.03, Verdict.FAIL),
    ):
        found = by_name(watch, ramp(die_to_block_at_most_k_per_w=most))["die_to_block_k_per_w"]
        assert found.verdict is expected
    assert isinstance(found.value, float)
    assert abs(found.value - truth) <= found.uncertainty


def test_what_the_samples_did_not_tell_is_not_measured_however_mild_the_limit() -> None:
    """At idle nothing is learnt; what is believed of such cards lies far inside this limit."""
    watch = watched(LOOP_LIKE, ((0.0, 15.0),), 5.0)
    settings = ramp(die_to_block_at_most_k_per_w=5.0, block_to_away_at_most_k_per_w=5.0)
    found = by_name(watch, settings)
    for name in ("die_to_block_k_per_w", "block_to_coolant_k_per_w"):
        assert found[name].verdict is Verdict.NOT_MEASURED
        assert found[name].required
        assert means(found[name], ThermalRampReason.BELIEVED_ONLY)
    assert found["cooling_state"].verdict is not Verdict.PASS


def test_no_sample_at_all_leaves_every_asked_element_not_measured() -> None:
    watch = CoolingWatch(Setup(Limits(95.0)))
    settings = ramp(die_to_block_at_most_k_per_w=0.1, rated_w=300.0, rise_at_rated_at_most_k=50.0)
    found = by_name(watch, settings)
    for name in ("cooling_state", "die_to_block_k_per_w", "rise_at_rated_k"):
        assert found[name].verdict is Verdict.NOT_MEASURED


def test_a_rise_that_was_extrapolated_may_fail_but_never_pass() -> None:
    sound = by_name(
        watched(LOOP_LIKE, PLAN, 110.0), ramp(rated_w=400.0, rise_at_rated_at_most_k=110.0)
    )["rise_at_rated_k"]
    assert sound.verdict is Verdict.UNSURE
    assert means(sound, ThermalRampReason.NOT_REACHED)
    assert sound.source is not None
    extrapolated = ThermalRampSource.EXTRAPOLATED_FROM_NOTHING
    assert any(part.means(extrapolated) for part in sound.source.parts())
    loose = by_name(
        watched(LOOSE, PLAN, 110.0), ramp(rated_w=400.0, rise_at_rated_at_most_k=60.0)
    )["rise_at_rated_k"]
    assert loose.verdict is Verdict.FAIL


def test_the_rise_of_a_dry_block_stays_physical() -> None:
    """Water that stands in a block has a time constant of seconds: the way to rest is stable."""
    found = rise_at(watched(DRY, PLAN, 60.0), 300.0)
    assert 100.0 < found.value < 1000.0
    assert found.high < 2000.0


def test_a_missing_loop_owes_its_rise() -> None:
    settings = ThermalRamp(
        stage="thermal_ramp", own_plan=OwnPlan(top_w=300.0, budget_j=5000.0, no_loop=True)
    )
    found = by_name(watched(DRY, PLAN, 60.0), settings)
    assert found["rise_at_rated_k"].verdict is Verdict.NOT_MEASURED
    assert means(found["rise_at_rated_k"], ThermalRampReason.RISE_NEEDS_LOOP)


def test_the_verdict_as_json_names_every_element() -> None:
    plain = judge_cooling(watched(LOOP_LIKE, PLAN, 80.0)).as_plain()
    assert set(plain) == {"cooling", "resistance_k_per_w"}
