from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from burnin.cli.stick.child_run import carried_out
from burnin.cli.stick.desk import copied, found_choices, settled
from burnin.cli.stick.unattended import FILE as ASKED
from burnin.cli.stick.unattended import TOLD, unattended
from burnin.report.languages.catalogue import catalogue
from burnin.stick.places import Places
from burnin.stick.settings import FILE, Settings, read_settings


@pytest.fixture
def stick(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Places:
    """A stick's folders, where mounting is nothing to do; what it sets goes with the test."""
    for name in ("LANG", "TZ", "BURNIN_SHOP"):
        monkeypatch.setenv(name, os.environ.get(name, ""))
    keep = tmp_path / "keep"
    keep.write_text("#!/bin/sh\nexit 0\n", encoding="ascii")
    keep.chmod(0o755)
    made = Places(tmp_path / "j", tmp_path / "r", tmp_path / "now", keep, tmp_path / "keyboards")
    for folder in (made.results, made.records, made.now):
        folder.mkdir(parents=True)
    return made


def test_what_the_records_partition_says_is_not_asked_and_is_kept(stick: Places) -> None:
    (stick.now / FILE).write_text(
        'keyboard = "de"\nlanguage = "de"\ntime_zone = "Europe/Vienna"\nshop = "Lindgren"\n',
        encoding="utf-8",
    )
    given = settled(stick, print, lambda _: pytest.fail("asked"))
    assert given == read_settings(stick.journal / FILE)
    assert os.environ["LANG"].startswith("de_DE")
    assert os.environ["TZ"] == "Europe/Vienna"


def test_a_setting_that_is_none_is_told_and_asked(stick: Places) -> None:
    (stick.now / FILE).write_text('keyboard = "klingon"\n', encoding="utf-8")
    answers, told = ["de", "de", "", "Lindgren"], list[str]()
    given = settled(stick, told.append, lambda _: answers.pop(0))
    assert given == Settings("de", "de", "Europe/Berlin", "Lindgren")
    assert "klingon" in told[0]


def test_without_a_card_there_is_still_something_to_choose() -> None:
    choices = found_choices(catalogue("de"))
    assert [one.words[0] for one in choices][-2:] == ["--simulated", "--software-vulkan"]


def test_what_is_copied_and_what_is_not_is_told(stick: Places) -> None:
    (stick.results / "run.json").write_text("{}", encoding="ascii")
    told = list[str]()
    copied(stick, catalogue("en"), told.append)
    assert (stick.records / "records" / "run.json").read_text("ascii") == "{}"
    stick.keep.write_text("#!/bin/sh\nexit 1\n", encoding="ascii")
    copied(stick, catalogue("en"), told.append)
    assert "1" in told[0]
    assert "the next start tries again" in told[1]


def test_a_run_is_a_process_of_its_own_with_its_code() -> None:
    ended = carried_out(["run", "--profile", "of-nobody"])
    assert ended.code == 2
    assert not ended.power_off


def test_what_a_file_asks_for_is_done_and_told(stick: Places) -> None:
    (stick.now / ASKED).write_text(
        'runs = [["--profile", "of-nobody"]]\npower_off = false\n', encoding="ascii"
    )
    told = list[str]()
    unattended(stick, told.append)
    assert told[-1] == "== over"
    kept = json.loads((stick.records / "records" / TOLD).read_text("utf-8"))
    assert [run["code"] for run in kept["runs"]] == [2]
