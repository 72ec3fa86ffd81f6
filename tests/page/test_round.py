"""A page over several records: which runs are of one round, what is told of each, who is asked."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from burnin.page.round_of_runs import RoundOfRuns
from burnin.page.seen import Seen
from burnin.page.telling.round import tell_round
from burnin.page.watching import Watching
from burnin.record.reader import read_record
from burnin.record.schema.folders import records_below
from burnin.report.languages.catalogue import catalogue, language_names
from tests.others.page.served import served
from tests.page.rounds import EIGHT, CardAtWork, held, write_round, write_run

RunBeside = Callable[..., AbstractContextManager["subprocess.Popen[bytes]"]]
PATIENT_MS = 45_000.0


def told(results: Path, language: str = "en") -> dict[str, object]:
    """What the page tells once every record was looked at."""
    watching = Watching(results)
    with watching.round_shown():
        while watching.look() or watching.round_revision() is None:
            continue
        watching.look()  # the word of what is closed
        with watching.round() as found:
            return tell_round(found, catalogue(language), results)


def cards(page: dict[str, object]) -> list[dict[str, object]]:
    return page["cards"]  # type: ignore[return-value]


@pytest.mark.parametrize("count", [1, 2, 8])
def test_every_card_of_a_round_is_told(tmp_path: Path, count: int) -> None:
    with held(write_round(tmp_path, EIGHT[:count])):
        page = told(tmp_path)
    found = {str(card["address"]): card for card in cards(page)}
    assert list(found) == [f"at {one.address}" for one in _in_order(EIGHT[:count])]
    for one in EIGHT[:count]:
        card = found[f"at {one.address}"]
        assert card["name"] == one.label
        assert card["temperature"]["value"] == f"{one.temp_c:.0f}"  # type: ignore[index]
        assert card["temperature"]["alarm"] is (one.temp_c >= 90.0)  # type: ignore[index]
        assert card["power"]["value"] == f"{one.power_w:.0f}"  # type: ignore[index]
        assert card["phase"] == ("finished" if one.ended else "running")
        word = card["word"]["kind"]  # type: ignore[index]
        assert (word == "fail") is one.fails


def _in_order(some: tuple[CardAtWork, ...]) -> list[CardAtWork]:
    return sorted(some, key=lambda card: card.began_after_s)


def test_of_several_questions_one_is_asked_and_it_says_of_which_card(tmp_path: Path) -> None:
    with held(write_round(tmp_path, EIGHT)):
        page = told(tmp_path)
    prompt = page["prompt"]
    assert prompt["of"] == "for Corvane Strata 9 at 0000:02:00.0"  # type: ignore[index]
    assert "DP-2" in prompt["text"]  # type: ignore[index]
    assert page["more_prompts"] == "questions after this one: 1"
    waits = {card["address"]: card["waits"] for card in cards(page) if card["waits"]}
    assert waits == {
        "at 0000:02:00.0": "waits for the answer above",
        "at 0000:82:00.0": "waits for an answer",
    }


def test_a_run_that_nobody_writes_asks_nothing(tmp_path: Path) -> None:
    for folder in write_round(tmp_path, EIGHT[1:2]):
        for file in folder.iterdir():
            os.utime(file, (1e9, 1e9))
    page = told(tmp_path)
    assert page["prompt"] is None
    assert [card["word"]["text"] for card in cards(page)] == ["CUT OFF"]  # type: ignore[index]


def written_at(folder: Path, second: float) -> None:
    for file in folder.iterdir():
        os.utime(file, (second, second))


def test_a_round_is_what_overlaps_with_the_newest_run(tmp_path: Path) -> None:
    """Runs of a day: one in the morning, then two that overlap a third, of which one goes on."""
    begun_s = 1_772_442_900.0  # 2026-03-02T09:15:00Z
    spans = {1: (0, 300), 2: (600, 900), 3: (890, 1500), 4: (1400, 1600)}
    folders = {}
    for number, (begin_s, end_s) in spans.items():
        card = CardAtWork("Corvane Strata 9", ended=True, began_after_s=float(begin_s))
        folders[number] = write_run(tmp_path, number, card)
        written_at(folders[number], begun_s + end_s)
    assert RoundOfRuns(tmp_path).found() == [folders[2], folders[3], folders[4]]
    assert len(list(records_below(tmp_path))) == 4


def test_without_any_run_it_says_so(tmp_path: Path) -> None:
    page = told(tmp_path)
    assert page["cards"] == []
    assert str(tmp_path) in str(page["nothing"])


@pytest.mark.parametrize("language", language_names())
def test_hostile_names_stay_data_and_one_line(tmp_path: Path, language: str) -> None:
    label = "<b>x</b>\u202e{{ 7*7 }}\n2"
    with held(write_round(tmp_path, (CardAtWork(label),))):
        (card,) = cards(told(tmp_path, language))
    assert card["name"] == "<b>x</b>{{ 7*7 }} 2"


def test_a_record_of_which_nothing_can_be_read_is_named_on_its_card(tmp_path: Path) -> None:
    folders = write_round(tmp_path, EIGHT[:2])
    with held(folders):
        (folders[0] / "run.json").write_text("{}")
        page = told(tmp_path)
    problems = [card["problem"] for card in cards(page)]
    assert sum("run.json" in str(problem) for problem in problems) == 1


def test_the_newest_is_shown_whatever_else_is_looked_at(tmp_path: Path) -> None:
    first = write_run(tmp_path, 1, EIGHT[0])
    watching = Watching(tmp_path)
    watching.look()
    second = write_run(tmp_path, 2, EIGHT[2])
    written_at(first, 1e9)
    other = Watching(tmp_path)
    with other.shown(first):
        while not other.revision_of(first)[-1]:
            other.look()
        assert other.folder == second
        with other.seen(first) as seen:
            assert isinstance(seen, Seen)
            assert seen.folder == first
        assert other.folder_of_run(first.name) == first
    assert other.folder_of_run("20260302T091500Z-ffff") is None
    assert other.folder_of_run(["a", "list"]) is None


TWO_IN_A_ROW = """async () => {
  const { prompt } = await import("/assets/prompt.js");
  const told = { number: 1, text: "", left: "", place: "", wrong: "", good: "", field: "",
                 buttons: [["yes", "Yes"]] };
  const isClosed = (run) => { prompt(told, run); return document.getElementById("yes").disabled; };
  return [isClosed("first"), isClosed("second"), isClosed("second")];
}"""


def test_a_finger_on_its_way_to_one_cards_question_does_not_press_the_next_ones(
    chromium: Browser, tmp_path: Path
) -> None:
    """gave: the button of the second card's question took the press that was meant for the first"""
    context = chromium.new_context()
    page = context.new_page()
    with served(tmp_path / "results", tmp_path / "shop") as server:
        page.goto(server.whole_address.replace("/?", "/round?"))
        expect(page.locator("#nothing")).to_contain_text("No run yet", timeout=PATIENT_MS)
        assert page.evaluate(TWO_IN_A_ROW) == [False, True, True]
        expect(page.locator("#yes")).to_be_enabled(timeout=PATIENT_MS)
    context.close()


@pytest.mark.long
def test_the_question_of_one_of_two_runs_is_answered_in_a_browser(
    chromium: Browser, run_beside: RunBeside, tmp_path: Path
) -> None:
    results = tmp_path / "results"
    context = chromium.new_context(viewport={"width": 390, "height": 844})
    page = context.new_page()
    complaints: list[str] = []
    page.on("console", lambda message: complaints.append(message.text))
    asks = ("-p", "short_x8", "--simulated", "dead_output", "--ask", "--pace", "30")
    with run_beside(*asks), served(results, tmp_path / "shop") as server:
        write_run(results, 7, EIGHT[4])
        page.goto(server.whole_address.replace("/?", "/round?"))
        expect(page.locator("#prompt-text")).to_contain_text("DP-2", timeout=PATIENT_MS)
        assert page.evaluate("() => document.documentElement.scrollWidth") <= 390
        page.locator("#no").click()
        expect(page.locator("#said")).to_contain_text("has taken the answer", timeout=PATIENT_MS)
        page.locator("#cards a").first.click()
        expect(page.locator("#word-text")).not_to_have_text("–", timeout=PATIENT_MS)
    assert complaints == []
    context.close()
    asked = [
        entry
        for _, folder in records_below(results)
        for entry in read_record(folder).events("Asked")
    ]
    assert [entry.detail["answer"] for entry in asked] == ["no"]
