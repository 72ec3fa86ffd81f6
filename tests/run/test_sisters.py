"""A card beside others of its model on record: half the memory or less power is no pass."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from burnin.cli.bench_lines import declare_known_good
from burnin.core.reading import Reading, Verdict
from burnin.core.verdict import RunVerdict
from burnin.profile.loader import LoadedProfile, parse_profile
from burnin.replay.verdicts import judge_anew
from burnin.run.proven.meanings import SisterReason
from tests.run import known_good
from tests.run.driving import Ran, run_simulated

HEAD = 'format = 1\ntitle = "Short"\n[guards]\ngpu_temp_limit_c = 95.0\n'
STAGE = '[[stages]]\nstage = "enumeration"\n'
RAMP = (
    '[[stages]]\nstage = "thermal_ramp"\nsteps = [{ load_share = 1.0, hold_s = 14.0 }]\n'
    "cool_down_s = 0.5\n"
)


def profile(ramp: bool = False) -> LoadedProfile:
    text = HEAD + STAGE + (RAMP if ramp else "")
    return parse_profile("short", "short.toml", text, tomllib.loads(text))


def scenario(folder: Path, name: str, card: str = "") -> str:
    file = folder / f"{name}.toml"
    file.write_text(f'name = "{name}"\ntitle = "{name}"\n[card]\ncooling = "air"\n{card}')
    return str(file)


def sister(ran: Ran, name: str) -> Reading:
    return next(r for r in ran.record.readings if r.name == name)


def test_the_first_of_its_model_is_compared_with_nobody(tmp_path: Path) -> None:
    ran = run_simulated(scenario(tmp_path, "plain"), profile(), tmp_path / "results")
    assert not [r for r in ran.record.readings if r.name.startswith("sister_")]
    assert ran.outcome.verdict is RunVerdict.PASS


def test_half_the_memory_of_the_others_is_told_and_no_pass(tmp_path: Path) -> None:
    results = tmp_path / "results"
    run_simulated(scenario(tmp_path, "plain"), profile(), results)
    alike = run_simulated(scenario(tmp_path, "plain"), profile(), results, seed=2)
    assert sister(alike, "sister_memory_share").verdict is Verdict.PASS
    assert alike.outcome.verdict is RunVerdict.PASS
    half = scenario(tmp_path, "half", "memory = { size_gib = 12 }\n")
    ran = run_simulated(half, profile(), results)
    found = sister(ran, "sister_memory_share")
    assert found.verdict is Verdict.UNSURE
    assert found.reason is not None
    assert found.reason.means(SisterReason.UNLIKE_PASSED)
    assert (found.reason["value"], found.reason["their_value"]) == (12.0, 24.0)
    assert ran.outcome.verdict is RunVerdict.CONDITIONAL
    assert judge_anew(ran.record).verdict is RunVerdict.CONDITIONAL
    assert not judge_anew(ran.record).disagreements


def test_another_model_is_no_sister(tmp_path: Path) -> None:
    results = tmp_path / "results"
    run_simulated(scenario(tmp_path, "plain"), profile(), results)
    cause = '[[causes]]\nkind = "firmware"\nsubsystem_id = 0x77\n'
    other = scenario(tmp_path, "other", f"memory = {{ size_gib = 12 }}\n{cause}")
    ran = run_simulated(other, profile(), results)
    assert not [r for r in ran.record.readings if r.name.startswith("sister_")]


@pytest.mark.long
def test_less_power_than_the_others_at_the_same_work_is_no_pass(tmp_path: Path) -> None:
    results = tmp_path / "results"
    run_simulated(scenario(tmp_path, "plain"), profile(ramp=True), results)
    weak = scenario(tmp_path, "weak", "max_power_w = 180.0\n")
    ran = run_simulated(weak, profile(ramp=True), results)
    assert sister(ran, "sister_power_share").verdict is Verdict.UNSURE
    assert ran.outcome.verdict is RunVerdict.CONDITIONAL
    same_card = run_simulated(weak, profile(), results)  # other work: power is not compared
    assert "sister_power_share" not in {r.name for r in same_card.record.readings}


def test_a_card_that_was_declared_known_good_goes_before_those_that_only_passed(
    tmp_path: Path,
) -> None:
    results = tmp_path / "results"
    good = known_good.run(scenario(tmp_path, "plain"), results)
    found = declare_known_good(results, good.folder, "Ilse Tarn")
    assert found.refused == ()
    half = scenario(tmp_path, "half", "memory = { size_gib = 12 }\n")
    record = known_good.run(half, results)
    told = next(r for r in record.readings if r.name == "sister_memory_share")
    assert told.reason is not None
    assert told.reason.means(SisterReason.UNLIKE_DECLARED)
    assert told.reason["run"] == good.run.run_id
    simulated = run_simulated(half, profile(), results)  # no simulated card is a real one's sister
    assert not [r for r in simulated.record.readings if r.name.startswith("sister_")]
