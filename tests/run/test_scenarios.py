"""The main job on the simulated machine: each cause leads to its verdict, by physics alone."""

from __future__ import annotations

from pathlib import Path

import pytest

from burnin.core.events import GuardTripped, RunFinished, SampleTaken
from burnin.core.reading import Verdict, known
from burnin.core.verdict import EXIT_CODES
from burnin.record.rows import read_facts, read_rows
from burnin.sim.scenario.model import scenario_names
from tests.run.driving import Ran, run_simulated

EXPECTED = [
    ("healthy", "desktop_air", 0, "all 7 stages passed"),
    ("healthy_loop", "water_loop", 0, "all 7 stages passed"),
    ("healthy_x8", "short_x8", 0, "all 6 stages passed"),
    ("healthy_compute", "passive_compute", 0, "all 7 stages passed"),
    ("healthy_bench_block", "water_no_loop", 4, "no loop attached"),
    ("narrow_link", "desktop_air", 1, "8 of 16 lanes"),
    ("slow_link_under_load", "desktop_air", 1, "of 16 GT/s"),
    ("dead_output", "desktop_air", 1, "does not detect it"),
    ("stuck_memory", "desktop_air", 1, "failing words"),
    ("no_coolant", "water_loop", 1, "no coolant"),
    ("fan_stall", "desktop_air", 3, "fan lost"),
    ("falls_off_bus", "desktop_air", 3, "stopped answering"),
]


@pytest.mark.parametrize(("scenario", "profile", "code", "reason"), EXPECTED)
def test_each_scenario_ends_in_its_verdict(
    scenario: str, profile: str, code: int, reason: str, tmp_path: Path
) -> None:
    ran = run_simulated(scenario, profile, tmp_path)
    assert EXIT_CODES[ran.outcome.verdict] == code
    assert reason in ran.outcome.reason
    facts = read_facts(ran.folder)
    assert facts["verdict"] == ran.outcome.verdict
    assert facts["simulated"] is True


def test_every_scenario_that_ships_is_tried_here() -> None:
    assert set(scenario_names()) <= {row[0] for row in EXPECTED}


@pytest.mark.parametrize("chunk", range(20))
def test_a_hundred_healthy_cards_are_a_hundred_passes(chunk: int, tmp_path: Path) -> None:
    for seed in range(chunk * 5, chunk * 5 + 5):
        ran = run_simulated("healthy", "desktop_air", tmp_path, seed=seed)
        assert ran.outcome.verdict == "pass", f"seed {seed}: {ran.outcome.reason}"


@pytest.mark.parametrize("seed", [8, 35, 101])
def test_a_sound_loop_is_let_alone_in_a_short_load_that_would_be_too_long_if_held(
    seed: int, tmp_path: Path
) -> None:
    """Half a minute at full power from idle: too short to tell a loop from a dry block."""
    ran = run_simulated("healthy_loop", "water_loop", tmp_path, seed=seed)
    assert ran.outcome.verdict == "pass", ran.outcome.reason


@pytest.mark.parametrize("seed", range(5))
def test_stuck_bits_are_found_where_they_are(seed: int, tmp_path: Path) -> None:
    ran = run_simulated("stuck_memory", "desktop_air", tmp_path, seed=seed)
    rows = read_rows(ran.folder / "failing_words.csv")
    assert rows
    readings = {r["reading"]: r for r in read_rows(ran.folder / "readings.csv")}
    assert int(float(readings["failing_words"]["value"])) == len(rows)
    for row in rows:
        assert int(row["expected"], 16) ^ int(row["got"], 16)


def hottest_c(ran: Ran) -> float:
    seen = [known(e.sample.telemetry.gpu_temp_c) for e in ran.events if isinstance(e, SampleTaken)]
    return max(v for v in seen if v is not None)


@pytest.mark.parametrize("seed", range(5))
def test_no_temperature_ever_crosses_its_limit(seed: int, tmp_path: Path) -> None:
    ran = run_simulated("fan_stall", "desktop_air", tmp_path, seed=seed)
    trips = [e for e in ran.events if isinstance(e, GuardTripped)]
    assert len(trips) == 1
    assert trips[0].signal == "gpu_temp_c"
    assert trips[0].limit is not None
    assert hottest_c(ran) < 90.0


@pytest.mark.parametrize("seed", range(5))
def test_a_dry_block_is_found_by_the_gentle_step_and_spared_all_full_load(
    seed: int, tmp_path: Path
) -> None:
    ran = run_simulated("no_coolant", "water_loop", tmp_path, seed=seed)
    assert not [e for e in ran.events if isinstance(e, GuardTripped)]
    assert hottest_c(ran) < 65.0
    assert ran.outcome.verdict == "fail"
    after = ran.outcome.stages[-3:]
    assert [s.kind for s in after] == ["link", "memory", "compute"]
    assert all("to spare the card" in s.reason for s in after)
    assert {s.stage for s in after} <= {o.stage for o in ran.outcome.owed}


def test_after_a_trip_the_load_is_off_and_the_rest_is_named(tmp_path: Path) -> None:
    ran = run_simulated("fan_stall", "desktop_air", tmp_path)
    kinds = [type(e) for e in ran.events]
    after = ran.events[kinds.index(GuardTripped) :]
    samples = [e.sample for e in after if isinstance(e, SampleTaken)]
    assert len(samples) > 50
    assert all(sample.load_share == 0.0 for sample in samples)
    power = [known(s.telemetry.power_w) for s in samples]
    assert power[-1] is not None
    assert power[-1] < 60.0
    last = ran.outcome.stages[-1]
    assert last.verdict == "not measured"
    assert "not reached" in last.reason
    assert any(o.stage == last.stage for o in ran.outcome.owed)


def test_unattended_prompts_become_not_measured_and_keep_the_run_conditional(
    tmp_path: Path,
) -> None:
    ran = run_simulated("dead_output", "desktop_air", tmp_path, unattended=True)
    assert ran.outcome.verdict == "conditional"
    rows = read_rows(ran.folder / "readings.csv")
    missing = [r for r in rows if r["verdict"] == Verdict.NOT_MEASURED and r["required"] == "yes"]
    assert [r["reading"] for r in missing] == ["screen_detected DP-2"]
    assert "unattended" in missing[0]["reason"]


def test_a_stage_left_out_is_owed(tmp_path: Path) -> None:
    ran = run_simulated("healthy", "desktop_air", tmp_path, left_out=frozenset({"thermal_ramp"}))
    assert ran.outcome.verdict == "conditional"
    assert [(o.what, o.reason) for o in ran.outcome.owed] == [("Thermal ramp", "left out by hand")]


def test_ctrl_c_once_ends_the_load_and_completes_the_record(tmp_path: Path) -> None:
    asked = []

    def on_event(event: object) -> None:
        if isinstance(event, SampleTaken) and event.sample.load_share > 0.4:
            asked.append(True)

    ran = run_simulated(
        "healthy", "desktop_air", tmp_path, on_event=on_event, stop_asked=lambda: bool(asked)
    )
    assert ran.outcome.ended == "stopped by hand"
    assert ran.outcome.verdict == "conditional"
    assert isinstance(ran.events[-1], RunFinished)
    facts = read_facts(ran.folder)
    assert facts["ended"] == "stopped by hand"
    stages = facts["stages"]
    assert isinstance(stages, list)
    assert len(stages) == 7


def test_a_run_is_the_same_again_for_the_same_seed(tmp_path: Path) -> None:
    def values(name: str) -> list[str]:
        ran = run_simulated("slow_link_under_load", "desktop_air", tmp_path / name, seed=3)
        return [f"{r['reading']}={r['value']}" for r in read_rows(ran.folder / "readings.csv")]

    assert values("a") == values("b")


def test_whatever_is_simulated_says_so(tmp_path: Path) -> None:
    ran = run_simulated("healthy", "desktop_air", tmp_path)
    facts = read_facts(ran.folder)
    assert facts["simulated"] is True
    assert "healthy" in str(facts["simulated_scenario"])
    card = facts["card"]
    assert isinstance(card, dict)
    assert card["simulated"] is True
