"""Everything at once: what fails only then, in which part and phase, and what is never a pass."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from burnin.core.reading import Reading, Verdict
from burnin.core.verdict import RunVerdict
from burnin.engine.job import PartDone, TogetherResult
from burnin.record.reader import Record
from burnin.stages.all_at_once.leg import PARTS, Leg
from burnin.stages.all_at_once.together_readings import wrong_in_steps, wrong_together
from tests.run.driving import run_simulated

HEAD = """
format = 1
title = "Short"
[guards]
gpu_temp_limit_c = 95.0
[[stages]]
stage = "enumeration"
[[stages]]
stage = "link"
width_lanes = 16
generation = 4
load_s = 4.0
[[stages]]
stage = "memory"
patterns = ["own_address"]
[[stages]]
stage = "compute"
load_s = 4.0
"""
RAMP = """
[[stages]]
stage = "thermal_ramp"
steps = [{ load_share = 0.5, hold_s = 5.0 }, { load_share = 1.0, hold_s = 10.0 }]
cool_down_s = 0.0
gpu_temp_at_most_c = 95.0
optional = ["cooling_state", "steady_within_k"]
"""
TOGETHER = """
[[stages]]
stage = "all_at_once"
load_s = 10.0
alone_s = 1.0
patterns = ["own_address", "pseudo_random"]
steps = [{ rate_hz = 0.5, hold_s = 8.0 }, { rate_hz = 20.0, hold_s = 2.0 }]
"""
CARD = 'name = "bench"\ntitle = "Bench"\n[bench]\nbench_proven = true\n[card]\ncooling = "air"\n'


def record_of(tmp_path: Path, profile: str, causes: str = "") -> Record:
    (tmp_path / "profile.toml").write_text(profile, encoding="utf-8")
    (tmp_path / "scenario.toml").write_text(CARD + causes, encoding="utf-8")
    scenario = str(tmp_path / "scenario.toml")
    return run_simulated(scenario, str(tmp_path / "profile.toml"), tmp_path / "results").record


def rail(holds_step_w: float) -> str:
    return f'[[causes]]\nkind = "rail"\nholds_step_w = {holds_step_w}\n'


def readings_of(record: Record) -> Mapping[str, Reading]:
    (stage,) = (s.stage for s in record.run.stages if s.kind == "all_at_once")
    return {r.name: r for r in record.readings if r.stage == stage}


def verdicts_of(record: Record) -> dict[str, str]:
    return {stage.kind: str(stage.verdict) for stage in record.run.stages}


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Record:
    return record_of(tmp_path_factory.mktemp("sound"), HEAD + RAMP + TOGETHER)


def test_a_sound_card_is_right_in_each_part_and_phase(sound: Record) -> None:
    told = readings_of(sound)
    for part in ("compute", "memory", "link"):
        assert told[f"wrong_together {part}"].verdict is Verdict.PASS
        assert told[f"wrong_in_steps {part}"].verdict is Verdict.PASS
        assert told[f"rate_beside_alone {part}"].value is not None
    assert sound.run.verdict == RunVerdict.PASS


def test_all_parts_together_draw_what_the_card_may(sound: Record) -> None:
    share = readings_of(sound)["power_share_together"].value
    assert isinstance(share, float)
    assert 0.95 < share < 1.1


def test_a_card_in_the_rest_of_a_slow_step_is_not_judged_as_one_under_load(sound: Record) -> None:
    """A link that sleeps in a rest of a second is no link that fell."""
    at_rest = [
        s for s in sound.samples()
        if "all_at_once" in s.stage and s.load_share == 0.0 and s.telemetry.power_w is not None
    ]  # fmt: skip
    assert at_rest
    steps = readings_of(sound)["step_height_w 0.5 Hz"].value
    assert isinstance(steps, float)
    assert steps > 200.0
    assert "step_height_w 20 Hz" not in readings_of(sound)  # no sensor follows that


def test_a_supply_that_gives_way_when_all_begin_passes_every_other_stage(tmp_path: Path) -> None:
    found = record_of(tmp_path, HEAD + RAMP + TOGETHER, rail(400.0))
    verdicts = verdicts_of(found)
    assert verdicts.pop("all_at_once") == "fail"
    assert set(verdicts.values()) == {"pass"}
    wrong = readings_of(found)["wrong_together compute"]
    assert wrong.reason is not None
    assert wrong.reason.code == "all_at_once_wrong_together"
    # A card that was wrong is not stepped, and that is owed with its reason.
    steps = readings_of(found)["power_steps"]
    assert steps.verdict is Verdict.NOT_MEASURED


def test_what_fails_in_steps_of_power_alone_is_told_with_its_phase(tmp_path: Path) -> None:
    found = record_of(tmp_path, HEAD + RAMP + TOGETHER, rail(484.0))
    told = readings_of(found)
    assert told["wrong_together compute"].verdict is Verdict.PASS
    reading = told["wrong_in_steps compute"]
    assert reading.verdict is Verdict.FAIL
    assert reading.reason is not None
    assert reading.reason.code == "all_at_once_wrong_in_steps"
    phase_pct = dict(reading.reason.data)["phase_pct"]
    assert isinstance(phase_pct, float)
    assert phase_pct < 25.0  # the voltage gives way as the work begins
    # The legs that were to come are left out: the other parts are proven by none of them.
    assert told["wrong_in_steps memory"].verdict is Verdict.NOT_MEASURED


@pytest.mark.parametrize(
    "ramp", ["", RAMP.replace("gpu_temp_at_most_c = 95.0", "gpu_temp_at_most_c = 30.0")],
    ids=["no ramp", "a ramp that failed"],
)  # fmt: skip
def test_power_is_stepped_only_after_a_ramp_that_has_passed(ramp: str, tmp_path: Path) -> None:
    told = readings_of(record_of(tmp_path, HEAD + ramp + TOGETHER))
    reading = told["power_steps"]
    assert reading.verdict is Verdict.NOT_MEASURED
    assert reading.reason is not None
    assert reading.reason.code == "all_at_once_no_passed_ramp"
    assert told["wrong_together compute"].verdict is Verdict.PASS


def test_a_memory_cell_is_laid_to_the_memory(tmp_path: Path) -> None:
    cell = '[[causes]]\nkind = "memory_cell"\naddress = 0x1000\nbit = 3\nstuck_at = 1\n'
    profile = HEAD.partition('[[stages]]\nstage = "memory"')[0] + TOGETHER
    told = readings_of(record_of(tmp_path, profile, cell))
    assert told["wrong_together memory"].verdict is Verdict.FAIL
    assert told["wrong_together compute"].verdict is Verdict.PASS
    assert told["wrong_together link"].verdict is Verdict.PASS


def test_too_short_for_a_pass_over_the_memory_is_no_pass_of_the_memory(tmp_path: Path) -> None:
    patterns = '["retention", "hammer", "march", "moving_inversions", "walking_bits"]'
    short = TOGETHER.replace("load_s = 10.0", "load_s = 0.2").replace(
        '["own_address", "pseudo_random"]', patterns
    )
    reading = readings_of(record_of(tmp_path, HEAD + short))["wrong_together memory"]
    assert reading.verdict is Verdict.NOT_MEASURED
    assert reading.reason is not None
    assert reading.reason.code == "all_at_once_no_whole_pass"


def test_a_part_that_did_nothing_is_no_pass() -> None:
    """Nothing wrong in no work proves nothing."""
    leg = Leg(rate_hz=0.0)
    parts = [PartDone(name, 0.0 if name == "link" else 1e9, 1e9, 1e9, 0) for name in PARTS]
    leg.result = TogetherResult(5.0, 5.0, 0, tuple(parts), 1 << 30, 3)
    told = {reading.name: reading for reading in wrong_together(leg)}
    assert told["wrong_together compute"].verdict is Verdict.PASS
    assert told["wrong_together link"].verdict is Verdict.NOT_MEASURED
    stepped = {reading.name: reading for reading in wrong_in_steps([leg], 1)}
    assert stepped["wrong_in_steps link"].verdict is Verdict.NOT_MEASURED


def test_a_part_in_steps_is_held_against_what_it_did_alone_before() -> None:
    """Alone for half a second a part has hardly begun: a hundredth of that would be nothing."""
    parts = [PartDone(name, 0.05e9, 1e6, 1e7, 0) for name in PARTS]
    legs = [
        Leg(5.0, dict.fromkeys(PARTS, alone), TogetherResult(9.0, 5.0, 20, tuple(parts), 1, 1))
        for alone in (0.0, 1e9)
    ]
    verdicts = [
        {reading.verdict for reading in wrong_in_steps([leg], 1)} for leg in legs
    ]
    assert verdicts == [{Verdict.PASS}, {Verdict.NOT_MEASURED}]
