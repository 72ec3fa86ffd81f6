"""`burnin run` with several cards: what it refuses, and a batch from command to sheets."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from burnin.cli.app import app
from burnin.core.verdict import RunVerdict
from burnin.record.batches.batch import batches_in, read_batch
from tests.run.batch.batches import SHORT, profile_in

THREE = ("run", "--simulated", "three_cards")


def burnin(shop: Path, *words: str) -> tuple[int, str]:
    result = CliRunner().invoke(app, list(words), env={"BURNIN_SHOP": str(shop)})
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result.exit_code, result.output


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--every-card", "--card", "01:00.0"), "--every-card takes every card"),
        (("--every-card",), "no profile"),
        (("--every-card", "-p", "short_x8", "--ticket", "4711"), "--card ADDRESS=TICKET"),
        (("--every-card", "-p", "short_x8", "--label", "mine"), "--label is one card's"),
        (("--every-card", "-p", "short_x8", "--software-vulkan"), "works no card"),
        (("--every-card", "--resume", "nowhere"), "--resume goes on with one record"),
        (("--card", "01:00.0", "--card", "1:00.0", "-p", "short_x8"), "no card at 0000:1:00.0"),
        (("--card", "01:00.0=4711", "--ticket", "4712", "-p", "short_x8"), "name one of them"),
        (("-p", "short_x8", "--batch-socket", "0"), "keeper's own"),
    ],
)
def test_what_cannot_be_is_said_before_anything_begins(
    words: tuple[str, ...], said: str, tmp_path: Path
) -> None:
    code, output = burnin(tmp_path, *THREE, *words, "--results", str(tmp_path / "results"))
    assert code == 2
    assert said in output
    assert not (tmp_path / "results").exists()


@pytest.mark.parametrize(
    ("power", "said"),
    [
        ("supply_w = 100\nbench_w = 200", "leave nothing"),
        ("bench_w = 200", "supply_w, circuit_w"),
        ("supply_w = 900\nbench_w = 200\nsuply_w = 1", "suply_w"),
    ],
)
def test_a_faulty_budget_is_told_with_its_place(power: str, said: str, tmp_path: Path) -> None:
    (tmp_path / "shop.toml").write_text(f"[power]\n{power}\n", "utf-8")
    code, output = burnin(tmp_path, *THREE, "--every-card", "-p", "short_x8")
    assert code == 2
    assert "shop.toml" in output
    assert said in output


@pytest.mark.long
def test_a_batch_from_command_to_sheets(tmp_path: Path) -> None:
    shop, results = tmp_path / "shop", tmp_path / "results"
    shop.mkdir()
    (shop / "shop.toml").write_text("[power]\nsupply_w = 500.0\nbench_w = 100.0\n", "utf-8")
    words = (*THREE, "--every-card", "-p", profile_in(tmp_path, SHORT), "--results", str(results))
    code, output = burnin(shop, *words, "--language", "de")
    assert code == 0, output
    (file,) = batches_in(results)
    batch = read_batch(file)
    assert batch.budget_w == 400.0
    assert [card.word for card in batch.cards] == [RunVerdict.PASS] * 3
    for card in batch.cards:
        assert list((results / card.record).glob("*.pdf"))
        assert str(results / card.record) in output
    assert str(file) in output
    code, output = burnin(shop, *words, "--json")
    *told, last = map(json.loads, output.splitlines())
    assert "simulated pass" in {one.get("word") for one in told}
    assert (code, last["event"], last["exit_code"]) == (0, "BatchEnded", 0)
    assert {card["word"] for card in last["batch"]["cards"]} == {"pass"}
