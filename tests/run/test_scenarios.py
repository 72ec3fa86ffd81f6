"""The main job on the simulated machine: each cause leads to its verdict, by physics alone."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path

import pytest

from burnin.core.events import GuardTripped, RunFinished, SampleTaken
from burnin.core.meaning import Meaning
from burnin.core.reading import Verdict, known
from burnin.core.verdict import EXIT_CODES, WHOLE_RUN, Ended, OwedWhat, RunVerdict, StageVerdict
from burnin.record.reader import Record
from burnin.report.languages.catalogue import catalogue
from burnin.report.languages.word_files import word_files
from burnin.run.reasons import RunReason
from burnin.sim.scenario.model import scenario_names
from tests.long import few_short
from tests.run.driving import Ran, run_simulated, said
from tests.run.shared_runs import SharedRuns

EXPECTED = [
    ("healthy", "desktop_air", 0, "all 7 stages passed"),
    ("healthy_loop", "water_loop", 0, "all 7 stages passed"),
    ("healthy_x8", "short_x8", 0, "all 6 stages passed"),
    ("healthy_compute", "passive_compute", 0, "all 7 stages passed"),
    ("healthy_bench_block", "water_no_loop", 4, "no loop attached"),
    ("narrow_link", "desktop_air", 1, "8 of 16 lanes"),
    ("slow_link_under_load", "desktop_air", 1, "of 16 GT/s"),
    ("dead_output", "desktop_air", 1, "does not detect it"),
    ("opens_by_touch", "repaired_joint", 1, "the edge of the card was pressed"),
    ("warm_joint", "repaired_joint", 1, "V are lost there"),
    ("opens_by_touch", "desktop_air", 0, "all 7 stages passed"),
    ("warm_joint", "desktop_air", 0, "all 7 stages passed"),
    ("stuck_memory", "desktop_air", 1, "failing words"),
    ("no_coolant", "water_loop", 1, "no coolant"),
    ("fan_stall", "desktop_air", 3, "fan lost"),
    ("falls_off_bus", "desktop_air", 3, "stopped answering"),
]


SHORT = {row[0] for row in EXPECTED} - {
    *("healthy_loop", "healthy_compute", "stuck_memory"), *("opens_by_touch", "warm_joint"),
}


@cache
def codes_with_words(language: str) -> frozenset[str]:
    """Codes that a language has a sentence of its own for."""
    found: set[str] = set()
    for file in word_files(language):
        found |= tomllib.loads(file.read_text(encoding="utf-8")).get("says", {}).keys()
    return frozenset(found)


def codes_of(record: Record) -> set[str]:
    """Every code on a record: of its verdict, stages, readings, owed work and journal."""
    tops: list[Meaning | None] = [record.run.reason, record.run.card_absent]
    tops += [reason for stage in record.run.stages for reason in stage.reasons]
    tops += [m for reading in record.all_readings for m in (reading.reason, reading.source)]
    tops += [m for work in record.run.owed for m in (work.what, work.reason)]
    codes = {part.code for top in tops if top is not None for part in top.parts()}
    for entry in record.journal:
        codes |= _codes_in(entry.detail)
    return codes


def _codes_in(value: object) -> set[str]:
    if isinstance(value, list | tuple):
        return set().union(*map(_codes_in, value))
    if not isinstance(value, dict):
        return set()
    own = {value["code"]} if isinstance(value.get("code"), str) else set()
    return own.union(*map(_codes_in, value.values()))


@pytest.mark.parametrize(
    ("scenario", "profile", "code", "reason"), few_short(EXPECTED, SHORT)
)
def test_each_scenario_ends_in_its_verdict(
    scenario: str, profile: str, code: int, reason: str, shared_runs: SharedRuns
) -> None:
    ran = shared_runs.run(scenario, profile)
    assert EXIT_CODES[ran.outcome.verdict] == code
    assert reason in ran.told
    run = ran.record.run
    assert run.verdict is ran.outcome.verdict
    assert run.reason == ran.outcome.reason
    assert run.simulated
    assert run.simulated_scenario == scenario
    assert run.card is not None
    assert run.card.simulated
    # Whatever is on the record, both languages have words for it.
    codes = codes_of(ran.record)
    assert len(codes) > 5
    for language in ("en", "de"):
        assert not codes - codes_with_words(language)


def test_every_scenario_that_ships_is_tried_here() -> None:
    assert set(scenario_names()) <= {row[0] for row in EXPECTED}


def healthy(seed: int, results: Path) -> None:
    ran = run_simulated("healthy", "desktop_air", results, seed=seed)
    assert ran.outcome.verdict is RunVerdict.PASS, f"seed {seed}: {ran.told}"


@pytest.mark.long
@pytest.mark.parametrize("seed", [117])
def test_healthy_cards_pass(seed: int, tmp_path: Path) -> None:
    healthy(seed, tmp_path)


@pytest.mark.long
@pytest.mark.parametrize(
    "chunk", [0, 1, 2, 3, *(pytest.param(n, marks=pytest.mark.many) for n in range(4, 20))]
)
def test_a_hundred_healthy_cards_are_a_hundred_passes(chunk: int, tmp_path: Path) -> None:
    for seed in range(chunk * 5, chunk * 5 + 5):
        healthy(seed, tmp_path)


@pytest.mark.parametrize(
    "seed", few_short([8, 35, 101], ())
)
def test_a_sound_loop_is_let_alone_in_a_short_load_that_would_be_too_long_if_held(
    seed: int, tmp_path: Path
) -> None:
    """Half a minute at full power from idle: too short to tell a loop from a dry block."""
    ran = run_simulated("healthy_loop", "water_loop", tmp_path, seed=seed)
    assert ran.outcome.verdict is RunVerdict.PASS, ran.told


def seeds(count: int, *, short: int) -> list[object]:
    """Seeds from 1, those past `short` marked as long."""
    return [
        pytest.param(n, marks=[pytest.mark.long] if n > short else []) for n in range(1, count + 1)
    ]


@pytest.mark.long
@pytest.mark.parametrize("seed", seeds(5, short=1))
def test_stuck_bits_are_found_where_they_are(seed: int, shared_runs: SharedRuns) -> None:
    ran = shared_runs.run("stuck_memory", "desktop_air", seed)
    words = ran.record.failing_words
    assert words
    readings = {r.name: r for r in ran.record.readings}
    assert readings["failing_words"].value == len(words)
    for word in words:
        assert int(word.expected, 16) ^ int(word.got, 16)


def hottest_c(ran: Ran) -> float:
    seen = [known(e.sample.telemetry.gpu_temp_c) for e in ran.events if isinstance(e, SampleTaken)]
    return max(v for v in seen if v is not None)


@pytest.mark.parametrize("seed", seeds(5, short=1))
def test_no_temperature_ever_crosses_its_limit_and_after_a_trip_the_load_is_off(
    seed: int, shared_runs: SharedRuns
) -> None:
    ran = shared_runs.run("fan_stall", "desktop_air", seed)
    trips = [e for e in ran.events if isinstance(e, GuardTripped)]
    assert len(trips) == 1
    assert trips[0].signal == "gpu_temp_c"
    assert trips[0].limit is not None
    assert hottest_c(ran) < 90.0
    after = ran.events[ran.events.index(trips[0]) :]
    samples = [e.sample for e in after if isinstance(e, SampleTaken)]
    assert len(samples) > 50
    assert all(sample.load_share == 0.0 for sample in samples)
    power = [known(s.telemetry.power_w) for s in samples]
    assert power[-1] is not None
    assert power[-1] < 60.0
    stopped, last, closing = ran.outcome.stages[-3:]
    assert closing.kind == WHOLE_RUN
    assert last.verdict is StageVerdict.NOT_MEASURED
    [not_reached] = last.reasons
    assert not_reached.means(RunReason.NOT_REACHED)
    assert trips[0].reason in not_reached.parts()
    assert stopped.verdict is StageVerdict.ABORTED
    assert stopped.reasons == (not_reached["reason"],)
    assert any(o.stage == last.stage for o in ran.outcome.owed)


@pytest.mark.parametrize("seed", seeds(5, short=1))
def test_a_dry_block_is_found_by_the_gentle_step_and_spared_all_full_load(
    seed: int, shared_runs: SharedRuns
) -> None:
    ran = shared_runs.run("no_coolant", "water_loop", seed)
    assert not [e for e in ran.events if isinstance(e, GuardTripped)]
    assert hottest_c(ran) < 65.0
    assert ran.outcome.verdict is RunVerdict.FAIL
    after = ran.outcome.stages[-4:-1]
    assert [s.kind for s in after] == ["link", "memory", "compute"]
    assert all("to spare the card" in said(*s.reasons) for s in after)
    assert {s.stage for s in after} <= {o.stage for o in ran.outcome.owed}


@pytest.mark.long
def test_unattended_prompts_become_not_measured_and_keep_the_run_conditional(
    tmp_path: Path,
) -> None:
    ran = run_simulated("dead_output", "desktop_air", tmp_path, unattended=True)
    assert ran.outcome.verdict is RunVerdict.CONDITIONAL
    missing = [r for r in ran.record.readings if r.verdict is Verdict.NOT_MEASURED and r.required]
    assert [r.name for r in missing] == ["screen_detected DP-2"]
    assert missing[0].reason == RunReason.UNATTENDED()
    assert not ran.record.events("Asked")


def test_what_was_asked_and_answered_is_on_record(shared_runs: SharedRuns) -> None:
    ran = shared_runs.run("dead_output", "desktop_air")
    asked, *of_pictures = ran.record.events("Asked")
    assert asked.stage == "2-display"
    assert asked.detail["answer"] == "yes"
    prompt = asked.detail["prompt"]
    assert isinstance(prompt, dict)
    assert prompt["output"] == "DP-2"
    assert [one.detail["answer"] for one in of_pictures] == ["yes"] * 3  # DP-2 stays dark


def test_a_stage_left_out_is_owed(tmp_path: Path) -> None:
    ran = run_simulated("healthy", "desktop_air", tmp_path, left_out=frozenset({"thermal_ramp"}))
    assert ran.outcome.verdict is RunVerdict.CONDITIONAL
    [owed] = ran.outcome.owed
    assert owed.what.means(OwedWhat.STAGE)
    assert catalogue("en").say(owed.what) == catalogue("en").stage("thermal_ramp")
    assert owed.reason == RunReason.LEFT_OUT_BY_HAND()


def test_ctrl_c_once_ends_the_load_and_completes_the_record(tmp_path: Path) -> None:
    asked = []

    def on_event(event: object) -> None:
        if isinstance(event, SampleTaken) and event.sample.load_share > 0.4:
            asked.append(True)

    ran = run_simulated(
        "healthy", "desktop_air", tmp_path, on_event=on_event, stop_asked=lambda: bool(asked)
    )
    assert ran.outcome.ended is Ended.STOPPED_BY_HAND
    assert ran.outcome.verdict is RunVerdict.CONDITIONAL
    assert isinstance(ran.events[-1], RunFinished)
    assert ran.record.run.ended is Ended.STOPPED_BY_HAND
    assert len(ran.record.run.stages) == 8
    assert ran.record.run.stages[-1].kind == WHOLE_RUN


@pytest.mark.long
def test_a_run_is_the_same_again_for_the_same_seed(
    shared_runs: SharedRuns, tmp_path: Path
) -> None:
    def values(ran: Ran) -> list[tuple[str, object]]:
        return [(r.name, r.value) for r in ran.record.all_readings]

    first = values(shared_runs.run("slow_link_under_load", "desktop_air"))
    assert len(first) > 20
    assert first == values(run_simulated("slow_link_under_load", "desktop_air", tmp_path))
