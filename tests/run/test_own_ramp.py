"""A ramp that plans itself, on simulated cards: to the top, within its joules, or ended by plan."""

from __future__ import annotations

import io
import json
from pathlib import Path

import pytest

from burnin.cli.replay_lines import replay
from burnin.core.events import GuardTripped, LoadPlanned, Promised, SampleTaken
from burnin.core.reading import Verdict, known
from burnin.core.sample import Resolution
from burnin.core.verdict import RunVerdict
from burnin.guard.factory import GuardFacts, make_guards
from burnin.thermal.cooling_verdict import Estimate, judge_cooling
from tests.long import few_short
from tests.run.driving import Ran, run_simulated, said
from tests.run.ramps import (
    DRY,
    LIMIT_C,
    figure,
    loose,
    notes,
    planned_w,
    ramp_profile,
    readings,
    scenario,
)

PLAN = "top_w = 450.0\nbudget_j = 5000.0"


def hottest_c(ran: Ran) -> float:
    seen = (e.sample.telemetry.gpu_temp_c for e in ran.events if isinstance(e, SampleTaken))
    return max(v for t in seen if (v := known(t)) is not None)


def coolest_c(ran: Ran) -> float:
    seen = (e.sample.telemetry.gpu_temp_c for e in ran.events if isinstance(e, SampleTaken))
    return min(v for t in seen if (v := known(t)) is not None)


@pytest.mark.parametrize("seed", few_short(range(3), {0}))
def test_a_dry_block_ends_within_its_joules_and_is_named(seed: int, tmp_path: Path) -> None:
    card = scenario(tmp_path, "water_loop", DRY)
    ran = run_simulated(card, ramp_profile("water", "", PLAN), tmp_path, seed=seed)
    found = readings(ran)
    assert figure(found["heat_given_j"]) <= 5000.0
    assert hottest_c(ran) < LIMIT_C["water"]
    assert not [e for e in ran.events if isinstance(e, GuardTripped)]
    assert found["cooling_state"].verdict is Verdict.FAIL
    assert "Is a loop attached and filled?" in said(found["cooling_state"].reason)
    assert ran.outcome.verdict is RunVerdict.FAIL
    top = found["power_held_w top"]
    assert (top.verdict, top.required) == (Verdict.NOT_MEASURED, True)
    assert "no proof of coolant" in said(top.reason)
    assert all(found[name].verdict is not Verdict.PASS for name in ("drift_k", "power_w"))


@pytest.mark.long
def test_a_sound_loop_reaches_the_top_and_its_state_is_named(tmp_path: Path) -> None:
    card = scenario(tmp_path, "water_loop")
    plan = f"{PLAN}\nsoak_s = 240.0"
    ran = run_simulated(card, ramp_profile("water", "rise_at_rated_at_most_k = 70.0", plan),
                        tmp_path)  # fmt: skip
    assert ran.outcome.verdict is RunVerdict.PASS, ran.told
    found = readings(ran)
    assert found["cooling_state"].value == "healthy loop"
    assert found["cooling_state"].verdict is Verdict.PASS
    assert found["power_held_w top"].verdict is Verdict.PASS
    assert found["rise_at_rated_k"].verdict is Verdict.PASS
    powers = planned_w(ran.events)
    assert powers == sorted(powers)
    assert powers[-1] == 450.0
    assert powers[0] < 150.0


@pytest.mark.long
@pytest.mark.parametrize("cooling", ["air", "water_loop"])
def test_the_rise_is_extrapolated_to_what_holding_the_power_shows(
    cooling: str, tmp_path: Path
) -> None:
    """One ramp ends at 250 W and tells the rise at 400 W; another holds 400 W until it rests."""
    card = scenario(tmp_path, cooling)
    word = "fans" if cooling == "air" else "water"
    plan = "top_w = 250.0\nsoak_s = 600.0"
    short = run_simulated(card, ramp_profile(word, "rated_w = 400.0", plan), tmp_path)
    told = readings(short)["rise_at_rated_k"]
    assert "extrapolated" in said(told.source)
    held = "steps = [{ power_w = 400.0, hold_s = 2400.0 }]\ncool_down_s = 0.0"
    long = run_simulated(card, ramp_profile(word, held), tmp_path)
    codes_k = 1.0  # both ends are whole degrees
    off_k = abs(figure(told) - (hottest_c(long) - coolest_c(long)))
    assert off_k <= told.uncertainty + codes_k


@pytest.mark.parametrize("factor", few_short([4.0, 5.0], {4.0}))
@pytest.mark.parametrize("cooling", ["air", "water_loop"])
def test_a_loose_cooler_fails_by_its_mount(cooling: str, factor: float, tmp_path: Path) -> None:
    card = scenario(tmp_path, cooling, loose(factor))
    word = "fans" if cooling == "air" else "water"
    ran = run_simulated(card, ramp_profile(word, "", PLAN), tmp_path)
    assert ran.outcome.verdict is RunVerdict.FAIL
    assert "poor mount" in ran.told
    assert "screws" in ran.told
    assert hottest_c(ran) < LIMIT_C[word]


def test_a_mount_above_the_profiles_limit_fails_with_what_to_check(tmp_path: Path) -> None:
    card = scenario(tmp_path, "water_loop", loose(4.0))
    ramp = "die_to_block_at_most_k_per_w = 0.11"
    ran = run_simulated(card, ramp_profile("water", ramp, PLAN), tmp_path)
    row = readings(ran)["die_to_block_k_per_w"]
    assert row.verdict is Verdict.FAIL
    assert "the mount resists" in said(row.reason)
    low = figure(row) - row.uncertainty
    assert low > 0.11


def test_without_a_loop_the_budget_ends_it_and_no_coolant_is_no_fault(tmp_path: Path) -> None:
    card = scenario(tmp_path, "water_bench")
    plan = f"{PLAN}\nno_loop = true"
    ran = run_simulated(card, ramp_profile("water", "die_to_block_at_most_k_per_w = 0.11", plan),
                        tmp_path)  # fmt: skip
    found = readings(ran)
    assert 4000.0 < figure(found["heat_given_j"]) <= 5000.0
    assert found["heat_given_j"].verdict is Verdict.PASS
    assert found["cooling_state"].verdict is None
    assert found["die_to_block_k_per_w"].verdict is Verdict.PASS
    assert found["rise_at_rated_k"].verdict is Verdict.NOT_MEASURED
    promised = [said(*e.promise) for e in ran.events if isinstance(e, Promised)]
    assert len(promised) == 1
    for part in ("5.0 kJ", "mount and die-to-block resistance judged", "long soak owed"):
        assert part in promised[0]


def test_what_is_promised_is_said_before_the_load_and_kept(tmp_path: Path) -> None:
    card = scenario(tmp_path, "air")
    ran = run_simulated(card, ramp_profile("fans", "cool_down_s = 0.0", "top_w = 400.0"), tmp_path)
    kinds = [type(e) for e in ran.events]
    spoken = ran.events[kinds.index(Promised)]
    assert isinstance(spoken, Promised)
    assert "up to 400 W" in said(*spoken.promise)
    before = ran.events[: kinds.index(Promised)]
    assert not [e for e in before if isinstance(e, SampleTaken) and e.sample.load_w]
    at_most_s = float(said(*spoken.promise).split("at most ")[1].split(" s")[0])
    samples = [e.sample for e in ran.events if isinstance(e, SampleTaken) and e.sample.load_w]
    assert samples[-1].elapsed_s - samples[0].elapsed_s <= at_most_s


@pytest.mark.long
def test_a_card_that_gives_less_is_held_at_its_full_work(tmp_path: Path) -> None:
    card = scenario(tmp_path, "air", card="max_power_w = 300.0")
    ran = run_simulated(card, ramp_profile("fans", "", "top_w = 450.0\nsoak_s = 90.0"), tmp_path)
    assert ran.outcome.verdict is RunVerdict.PASS, ran.told
    found = readings(ran)
    assert "full work reaches" in said(found["power_held_w top"].reason)
    assert found["power_held_w top"].required is False
    assert "300 W was held" in said(found["rise_at_rated_k"].source)


def test_a_guard_that_stops_the_ramp_is_told_at_once_and_the_cool_down_recorded(
    tmp_path: Path,
) -> None:
    causes = '[[causes]]\nkind = "fan"\nstate = "stalled"\n'
    card = scenario(tmp_path, "air", causes)
    profile = ramp_profile("fans", "cool_down_s = 40.0", "top_w = 600.0")
    ran = run_simulated(card, profile, tmp_path)
    assert ran.outcome.verdict is RunVerdict.ABORTED
    assert hottest_c(ran) < LIMIT_C["fans"]
    tripped = [n for n, e in enumerate(ran.events) if isinstance(e, GuardTripped)]
    assert len(tripped) == 1
    after = [e.sample for e in ran.events[tripped[0] :] if isinstance(e, SampleTaken)]
    assert after[-1].elapsed_s - after[0].elapsed_s >= 39.0
    assert all(s.load_share == 0.0 for s in after)
    found = readings(ran)
    assert found["cooling_state"].verdict is Verdict.FAIL
    assert found["power_held_w top"].verdict is Verdict.NOT_MEASURED
    assert isinstance(ran.events[tripped[0] + 1], LoadPlanned)  # taken away: nothing is planned


@pytest.mark.long
def test_the_cool_down_tells_more_of_the_block(tmp_path: Path) -> None:
    card = scenario(tmp_path, "water_loop", DRY)
    profile = ramp_profile("water", "cool_down_s = 120.0", PLAN)
    ran = run_simulated(card, profile, tmp_path)
    guard = make_guards(profile.profile.guards, GuardFacts(resolution=Resolution())).forecast
    assert guard is not None
    ended = max(
        e.sample.elapsed_s for e in ran.events if isinstance(e, SampleTaken) and e.sample.load_w
    )
    hot = None
    for sample in ran.record.samples():
        if hot is None and sample.elapsed_s > ended:
            hot = judge_cooling(guard.watch)
        row = guard.row(sample)
        assert row is not None
        guard.watch.see(row)
    cool = judge_cooling(guard.watch)
    assert hot is not None

    def width(found: Estimate) -> float:
        return (found.high - found.low) / found.value

    assert width(cool.capacity_j_per_k["block"]) < width(hot.capacity_j_per_k["block"])
    assert width(cool.resistance_k_per_w["block_to_room"]) < width(
        hot.resistance_k_per_w["block_to_room"]
    )


@pytest.mark.long
def test_a_card_that_is_warm_from_earlier_work_rests_first(tmp_path: Path) -> None:
    card = scenario(tmp_path, "air")
    steps = "steps = [{ load_share = 1.0, hold_s = 60.0 }]\ncool_down_s = 0.0"
    warm = ramp_profile("fans", steps, limit_c=80.0)
    own = ramp_profile("fans", "", "top_w = 200.0\nrest_at_most_s = 900.0", limit_c=80.0)
    both = warm.profile.model_copy(
        update={"stages": (warm.profile.stages[0], own.profile.stages[0])}
    )
    loaded = own.__class__("ramp", "ramp.toml", own.text, own.sha256, both)
    ran = run_simulated(card, loaded, tmp_path)
    second = [e.sample for e in ran.events if isinstance(e, SampleTaken)
              and e.sample.stage.startswith("2-")]  # fmt: skip
    began = next(s for s in second if s.load_w)
    assert began.elapsed_s - second[0].elapsed_s > 15.0
    first_c, then_c = known(second[0].telemetry.gpu_temp_c), known(began.telemetry.gpu_temp_c)
    assert first_c is not None
    assert then_c is not None
    assert then_c < first_c - 5.0
    assert "top power held" in notes(ran.events)


def test_the_record_is_judged_anew_with_the_plan_that_the_run_had(tmp_path: Path) -> None:
    card = scenario(tmp_path, "water_bench")
    profile = ramp_profile("water", "", f"{PLAN}\nno_loop = true")
    ran = run_simulated(card, profile, tmp_path)
    out = io.StringIO()
    assert replay([str(ran.folder)], None, True, out) == 0
    lines = [json.loads(line) for line in out.getvalue().splitlines()]
    assert [line["action"] for line in lines] == ["end"]
    row = readings(ran)["die_to_block_k_per_w"]
    anew = lines[0]["resistance_k_per_w"]["die_to_block"]
    assert anew["low"] == pytest.approx(figure(row) - row.uncertainty, rel=0.05)


def test_a_stepped_ramp_in_watts_hands_its_plan_to_the_forecast(tmp_path: Path) -> None:
    steps = (
        "steps = [{ power_w = 150.0, hold_s = 30.0 }, { power_w = 300.0, hold_s = 20.0 }]\n"
        "cool_down_s = 5.0"
    )
    card = scenario(tmp_path, "air")
    ran = run_simulated(card, ramp_profile("fans", steps), tmp_path)
    planned = [e for e in ran.events if isinstance(e, LoadPlanned)]
    assert [w for _, w in planned[0].steps] == [150.0, 300.0]
    begin_s = planned[0].steps[0][0]
    assert planned[0].steps[1][0] == pytest.approx(begin_s + 30.0)
    assert planned[0].end_s == pytest.approx(begin_s + 50.0)
    assert planned[-1].steps == ()
    assert ran.events.index(planned[-1]) > max(
        n
        for n, e in enumerate(ran.events)
        if isinstance(e, SampleTaken) and e.sample.load_w is not None
    )


def test_a_known_plan_lets_a_short_step_go_on_that_would_cross_if_it_were_held(
    tmp_path: Path,
) -> None:
    """On a dry block 25 s at 250 W are safe, minutes are not: only the plan tells them apart."""
    card = scenario(tmp_path, "water_bench")
    head = "cool_down_s = 0.0\noptional = ['cooling_state']\n"
    in_watts = head + "steps = [{ power_w = 250.0, hold_s = 28.0 }]"
    ran = run_simulated(card, ramp_profile("water", in_watts), tmp_path)
    assert not [e for e in ran.events if isinstance(e, GuardTripped)]
    in_shares = head + "steps = [{ load_share = 0.52, hold_s = 280.0 }]"
    long = run_simulated(card, ramp_profile("water", in_shares), tmp_path)
    assert [e.guard for e in long.events if isinstance(e, GuardTripped)] == ["forecast"]
    assert hottest_c(long) < LIMIT_C["water"]
