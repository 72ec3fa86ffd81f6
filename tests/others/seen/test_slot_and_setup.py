"""Seen: a port held by the set-up, and eight lanes wired where the port says sixteen: FAIL, of the
card. Both are the bench's, and a bench is known by what known-good cards have shown there."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from burnin.cli.app import app
from burnin.core.proven_bench import NotProven, ProvenBench
from burnin.core.verdict import RunVerdict
from burnin.record.reader import Record, read_record
from tests.run.known_good import LINK_ALONE, run

ENDS_IN_PASS, ENDS_IN_FAIL, WRONG_USE, ENDS_CONDITIONAL = 0, 1, 2, 4


def call(*words: str) -> tuple[int, str]:
    result = CliRunner().invoke(app, list(words))
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result.exit_code, result.output


def burnin_run(tmp_path: Path, scenario: str, *more: str) -> tuple[int, str, Record]:
    profile = tmp_path / "link_alone.toml"
    profile.write_text(LINK_ALONE.format(lanes=16, generation=4))
    results = tmp_path / "results"
    code, told = call(
        "run", "-p", str(profile), "--simulated", scenario, "--unattended",
        "--results", str(results), *more,
    )  # fmt: skip
    newest = max(results.glob("*/*/run.json"), key=lambda path: path.stat().st_mtime_ns)
    return code, " ".join(told.split()), read_record(newest.parent)


def drawn(tmp_path: Path, name: str, bench: str, more: str = "") -> str:
    path = tmp_path / f"{name}.toml"
    path.write_text(
        f'name = "{name}"\ntitle = "Drawn"\n[bench]\n{bench}\n[card]\ncooling = "air"\n{more}\n'
    )
    return str(path)


OPEN_LANE = '[[causes]]\nkind = "contact"\ncontact = "B54"\nstate = "open"\n'


def test_a_port_held_at_8_gts_is_the_set_ups_and_not_the_cards(tmp_path: Path) -> None:
    code, told, record = burnin_run(tmp_path, "held_speed")
    assert code == ENDS_CONDITIONAL
    assert "the host's set-up holds the port at 8" in told
    assert record.run.verdict is RunVerdict.CONDITIONAL


def test_eight_lanes_wired_are_not_the_cards(tmp_path: Path) -> None:
    code, told, record = burnin_run(tmp_path, "half_wired_slot")
    assert code == ENDS_CONDITIONAL
    assert "slot" in told
    assert isinstance(record.run.bench_shown, NotProven)


def test_eight_lanes_wired_are_told_from_history_where_there_is_one(tmp_path: Path) -> None:
    scenario = drawn(
        tmp_path, "wired", "slot_width_lanes = 8\nport_width_lanes = 16\nbench_proven = true"
    )
    code, told, record = burnin_run(tmp_path, scenario)
    assert code == ENDS_CONDITIONAL
    assert "the slot gave a known-good card no more than 8" in told
    assert isinstance(record.run.bench_shown, ProvenBench)


@pytest.mark.parametrize(
    ("proven", "code"), [("true", ENDS_IN_FAIL), ("false", ENDS_CONDITIONAL)]
)
def test_an_open_lane_fails_on_a_proven_bench_alone(
    tmp_path: Path, proven: str, code: int
) -> None:
    scenario = drawn(tmp_path, "open_lane", f"bench_proven = {proven}", OPEN_LANE)
    assert burnin_run(tmp_path, scenario)[0] == code


def test_a_slot_whose_port_tells_less_stays_conditional(tmp_path: Path) -> None:
    code, told, _ = burnin_run(tmp_path, drawn(tmp_path, "slot_x8", "slot_width_lanes = 8"))
    assert code == ENDS_CONDITIONAL
    assert "the slot offers 8" in told


def test_a_sound_card_in_a_sound_slot_still_passes(tmp_path: Path) -> None:
    assert burnin_run(tmp_path, "healthy")[0] == ENDS_IN_PASS


def test_what_the_bench_had_shown_stands_on_screen_sheet_and_json(tmp_path: Path) -> None:
    _, told, record = burnin_run(tmp_path, "healthy")
    assert "the simulated bench, which counts as proven: 16 lanes at 16 GT/s" in told
    sheet = (record.folder / "sheet.html").read_text(encoding="utf-8")
    assert "16 lanes at 16 GT/s" in sheet
    profile = tmp_path / "link_alone.toml"
    result = CliRunner().invoke(
        app,
        ["run", "-p", str(profile), "--simulated", "half_wired_slot", "--unattended",
         "--results", str(tmp_path / "results"), "--json"],
    )  # fmt: skip
    started = json.loads(result.output.splitlines()[0])
    assert started["opening"]["bench_shown"]["reason"]["code"] == "bench_scenario_unproven"


class TestTheCommandBench:
    def test_a_simulated_run_proves_no_bench(self, tmp_path: Path) -> None:
        record = burnin_run(tmp_path, "healthy")[2]
        results = str(tmp_path / "results")
        code, told = call(
            "bench", "prove", str(record.folder), "--by", "Ilse Tarn", "--results", results
        )
        assert code == WRONG_USE
        assert "a simulated run proves no bench" in told
        assert "nothing is proven" in call("bench", "show", "--results", results)[1]

    def test_a_known_good_run_is_declared_shown_and_forgotten(self, tmp_path: Path) -> None:
        record, results = run("healthy", tmp_path), str(tmp_path)
        shown = record.run.bench_shown
        assert shown is not None
        folder = str(record.folder)
        given = ("--by", "Ilse Tarn", "--ambient", "22.5", "--rail", "12V=12.08")
        code, told = call("bench", "prove", folder, *given, "--results", results)
        assert code == 0, told
        code, told = call("bench", "show", "--results", results)
        told = " ".join(told.split())
        for part in (
            "0000:00:01.0", "16 lanes at 16 GT/s", "Ilse Tarn", record.run.run_id,
            "air at 22.5 °C", "rail 12V at 12.08 V", "30 days and 50 starts",
        ):  # fmt: skip
            assert part in told
        rows = json.loads(call("bench", "show", "--results", results, "--json")[1])
        (slot,) = rows["slots"]
        assert slot["counts"]
        assert slot["slot"]["port"] == "0000:00:01.0"
        bench = ("--bench", shown.slot.bench)
        assert call("bench", "forget", "00:01.0", *bench, "--results", results)[0] == 0
        assert "does not count" in call("bench", "show", "--results", results)[1]
        assert "gilt" not in call("bench", "show", "--results", results, "--language", "de")[1]

    def test_the_age_is_the_shops(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        record = run("healthy", tmp_path, days=-3.0)
        results = str(tmp_path)
        declared = ("bench", "prove", str(record.folder), "--by", "Ilse", "--results", results)
        assert call(*declared)[0] == 0
        shop = tmp_path / "shop"
        shop.mkdir()
        monkeypatch.setenv("BURNIN_SHOP", str(shop))
        assert "does not count" not in call("bench", "show", "--results", results)[1]
        (shop / "shop.toml").write_text("bench_proof_days = 2.0\n")
        told = " ".join(call("bench", "show", "--results", results)[1].split())
        assert "does not count" in told
        assert "3 days old; 2 count" in told

    @pytest.mark.parametrize(
        "words",
        [("--rail", "12V"), ("--rail", "12V=much"), ("--rail", "12V=nan"), ("--cable", "DP-9=x")],
    )
    def test_bad_words_are_told_in_a_sentence(self, tmp_path: Path, words: tuple[str, str]) -> None:
        record = run("healthy", tmp_path)
        code, _ = call(
            "bench", "prove", str(record.folder), "--by", "Ilse", *words,
            "--results", str(tmp_path),
        )  # fmt: skip
        assert code == WRONG_USE
        assert not (tmp_path / "bench").exists()
