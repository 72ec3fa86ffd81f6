"""`burnin history` as a person types it; what a run does to the store at its end."""

from __future__ import annotations

import csv
import io
import json
import sys
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from burnin.cli.app import app
from burnin.cli.history.commands import QUESTIONS as COMMANDS
from burnin.cli.history.taking_in import after_run
from burnin.history.needs import PACKAGES
from burnin.history.questions.registry import QUESTIONS
from burnin.history.store import FILE, open_to_write
from burnin.history.sync import sync
from burnin.report.languages.catalogue import catalogue
from tests.history.conftest import AtOnce, OnDisk, named
from tests.history.shop import make_shop
from tests.history.shop_files import write_shop

PROFILE = """
format = 1
title = "Identity alone"
[guards]
gpu_temp_limit_c = 90.0
[[stages]]
stage = "enumeration"
"""


def call(*words: str) -> tuple[int, str]:
    result = CliRunner().invoke(app, ["history", *words])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.output


@pytest.fixture
def shop_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "shop"
    monkeypatch.setenv("BURNIN_SHOP", str(folder))
    return folder


def test_every_question_has_its_command() -> None:
    assert list(COMMANDS) == list(QUESTIONS)


def test_records_are_taken_in_and_what_is_apart_is_named(
    on_disk: OnDisk, tmp_path: Path, shop_folder: Path
) -> None:
    where = ("--results", str(on_disk.results), str(tmp_path / "store"))
    code, told = call("sync", *where)
    assert code == 0
    assert f"{on_disk.synced.taken} taken in, 0 as before, {len(on_disk.synced.apart)}" in told
    assert told.count("kept apart: 2022-12-01/run-") == len(on_disk.synced.apart)
    assert "the run never came to its end" in told
    assert (shop_folder / "history.key").exists()
    again = json.loads(call("sync", "--json", *where)[1])
    assert (again["taken"], again["apart"]) == (0, [])


@pytest.mark.parametrize(("name", "language"), [*((q, "de") for q in QUESTIONS), ("life", "en")])
def test_an_answer_is_a_table_that_people_read(
    on_disk: OnDisk, name: str, language: str
) -> None:
    card = on_disk.shop.visits[0].number
    code, told = call(name, "--store", str(on_disk.store), "--card", card, "--language", language)
    assert code == 0
    words = catalogue(language)
    assert told.startswith(words.say(QUESTIONS[name].title()))
    assert "history_" not in told


def test_the_same_rows_as_json_and_csv(planted: AtOnce, tmp_path: Path) -> None:
    file = tmp_path / "rows.csv"
    code, told = call(
        "came-back", "--by", "repair", "--json", "--csv", str(file), "--store", str(planted.store)
    )
    assert code == 0
    content = json.loads(told)
    rows: list[dict[str, Any]] = content["rows"]
    assert rows[0]["group"] == planted.planted.bad_repair
    assert rows[0]["claim"] is True
    assert content["notes"][0]["code"] == "history_as_of"
    written = list(csv.DictReader(io.StringIO(file.read_text("utf-8"))))
    assert [row["group"] for row in written] == [row["group"] for row in rows]
    assert [float(row["share"]) for row in written] == [row["share"] for row in rows]


@pytest.mark.parametrize(
    ("name", "ending"), [("came-back", "svg"), ("stages", "png"), ("drift", "pdf")]
)
def test_an_answer_is_drawn(on_disk: OnDisk, tmp_path: Path, name: str, ending: str) -> None:
    file = tmp_path / f"drawn.{ending}"
    code, _ = call(name, "--store", str(on_disk.store), "--plot", str(file))
    assert code == 0
    starts = {"svg": b"<?xml", "png": b"\x89PNG", "pdf": b"%PDF"}
    assert file.read_bytes().startswith(starts[ending])


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("owed", "--by", "weather"), "cannot be parted by weather"),
        (("life",), "whose life?"),
        (("life", "--card", "nobody"), "no such card"),
        (("good", "--plot", "x.svg"), "nothing to draw"),
        (("stages", "--plot", "x.gif"), "ends in .svg, .png or .pdf"),
    ],
)
def test_what_cannot_be_asked_is_told(
    on_disk: OnDisk, words: tuple[str, ...], told: str
) -> None:
    code, output = call(*words, "--store", str(on_disk.store))
    assert code == 2
    assert told in output


def test_without_a_store_it_is_told_how_one_is_made(tmp_path: Path, shop_folder: Path) -> None:
    code, told = call("stages", "--results", str(tmp_path))
    assert (code, "burnin history sync" in told) == (2, True)
    code, told = call("sync", "--results", str(tmp_path / "nowhere"))
    assert (code, "there is no such folder" in told) == (2, True)
    assert not (tmp_path / "nowhere").exists()


def test_a_broken_store_is_told_with_what_to_do(tmp_path: Path, shop_folder: Path) -> None:
    (tmp_path / ".history").mkdir()
    (tmp_path / ".history" / FILE).write_bytes(b"no database" * 2000)
    for words in (("stages",), ("sync",)):
        code, told = call(*words, "--results", str(tmp_path))
        assert (code, "delete that folder" in told) == (2, True), told


@pytest.mark.parametrize("package", PACKAGES)
def test_without_its_packages_the_command_says_what_brings_them(
    on_disk: OnDisk, monkeypatch: pytest.MonkeyPatch, package: str
) -> None:
    monkeypatch.setitem(sys.modules, package, None)
    code, told = call("stages", "--store", str(on_disk.store))
    assert code == 2
    assert package in told
    assert "burnin[history]" in told
    assert "burnin[history]" in "".join(after_run(on_disk.store, catalogue("en")))


def run(results: Path, profile: Path) -> str:
    words = ["run", "-p", str(profile), "--simulated", "healthy", "--results", str(results)]
    result = CliRunner().invoke(app, [*words, "--ticket", "4711", "--customer", "Ottilie Maro"])
    assert result.exit_code == 0, result.output
    return result.output


def test_a_run_brings_the_store_up_to_itself(tmp_path: Path, shop_folder: Path) -> None:
    profile, results = tmp_path / "identity.toml", tmp_path / "results"
    profile.write_text(PROFILE, encoding="utf-8")
    assert "burnin history sync" in run(results, profile)
    assert not (results / ".history").exists()
    sync(results, results / ".history", named)
    assert "history" not in run(results, profile)
    with open_to_write(results / ".history") as store:
        found = store.ask("SELECT simulated, verdict, ticket_customer FROM runs")
    assert [row[:2] for row in found] == [(True, "pass")] * 2
    assert "Ottilie Maro" not in {row[2] for row in found}
    assert any(str(row[2]).startswith("customer-") for row in found)


def test_a_store_that_cannot_be_written_costs_the_run_nothing(
    tmp_path: Path, shop_folder: Path
) -> None:
    write_shop(tmp_path, make_shop(2, 5))
    folder = next(tmp_path.glob("*/run-1"))
    (tmp_path / ".history").mkdir()
    (tmp_path / ".history" / FILE).write_bytes(b"no database" * 2000)
    told = after_run(folder, catalogue("en"))
    assert len(told) == 1
    assert "the run is not touched by that" in told[0]


def test_where_no_key_can_be_had_customers_stay_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_shop(tmp_path / "results", make_shop(2, 5))
    (tmp_path / "file").write_text("", encoding="utf-8")
    monkeypatch.setenv("BURNIN_SHOP", str(tmp_path / "file" / "shop"))
    code, told = call("sync", "--results", str(tmp_path / "results"))
    assert (code, "no key for their pseudonyms" in told) == (0, True)
    with open_to_write(tmp_path / "results" / ".history") as store:
        assert store.ask("SELECT DISTINCT customer FROM tickets") == [("",)]
