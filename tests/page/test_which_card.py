"""Of several cards each is told by its slot and its screens: asked, on board and ticket."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from burnin.cli.batch.choosing import Named, Wanted, choose
from burnin.cli.batch.row import card_text
from burnin.cli.batch.session import new_batch
from burnin.core.reading import NotMeasured
from burnin.page.telling.board import tell_board
from burnin.page.telling.tell import tell
from burnin.page.telling.ticket import tell_ticket
from burnin.page.tickets.watch import TicketsWatch
from burnin.page.watching import Watching
from burnin.record.batches import batch as batches
from burnin.record.batches.batch import batch_file, read_batch, write_batch
from burnin.report.languages.catalogue import catalogue
from burnin.run.begin import whereabouts
from burnin.run.bench import Options, cards_of_bench
from tests.page.rounds import EIGHT, held, write_run
from tests.page.test_round import cards, told
from tests.ticket import tickets

SEATED = {"slot_name": "PCIEX16_2", "screens": "DP-1 (Fenwick 27), HDMI-A-1"}


def seat(folder: Path, bench: dict[str, object]) -> Path:
    """The record of a run whose card was found there."""
    run = json.loads((folder / "run.json").read_text("utf-8"))
    run["bench"] = {**run["bench"], **bench}
    (folder / "run.json").write_text(json.dumps(run), "utf-8")
    return folder


@pytest.mark.parametrize(
    ("language", "said"),
    [
        ("en", ("at 0000:02:00.0, slot PCIEX16_2", "screens on it: DP-1 (Fenwick 27), HDMI-A-1")),
        ("de", ("an 0000:02:00.0, Steckplatz PCIEX16_2", "Bildschirme daran: DP-1 (Fenwick 27)")),
    ],
)
def test_the_question_of_one_of_several_says_where_its_card_is(
    language: str, said: tuple[str, ...], tmp_path: Path
) -> None:
    folder = seat(write_run(tmp_path, 2, EIGHT[1]), dict(SEATED))
    with held([folder, write_run(tmp_path, 1, EIGHT[0])]):
        page = told(tmp_path, language)
    for words in said:
        assert words in page["prompt"]["of"]  # type: ignore[index]
    assert said[0] in [card["address"] for card in cards(page)]


@pytest.mark.parametrize(
    "bench",
    [
        {"slot_name": {"not_measured": {"code": "slots_no_name"}}, "screens": ""},
        {"slot_name": "", "screens": {"not_measured": {"code": "slots_no_name"}}},
        {},
    ],
)
def test_what_nobody_tells_is_left_out(bench: dict[str, object], tmp_path: Path) -> None:
    folder = seat(write_run(tmp_path, 2, EIGHT[1]), bench)
    with held([folder]):
        page = told(tmp_path)
    assert page["prompt"]["of"] == "for Corvane Strata 9 at 0000:02:00.0"  # type: ignore[index]


def test_a_hostile_slot_of_a_record_stays_one_short_line(tmp_path: Path) -> None:
    folder = seat(
        write_run(tmp_path, 2, EIGHT[1]), {"slot_name": "<b>\u202e\n" + "x" * 500, "screens": ""}
    )
    with held([folder]):
        (card,) = cards(told(tmp_path))
    assert "\n" not in str(card["address"])
    assert "\u202e" not in str(card["address"])
    assert len(str(card["address"])) < 90


def test_the_boards_line_and_the_tickets_runs_say_where_the_card_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("BURNIN_SHOP", str(tmp_path / "shop"))
    there = tickets.ticket(tmp_path / "results")
    folder = write_run(there.folder, 1, replace(EIGHT[0]))
    run = there.folder / folder.name
    folder.rename(run)
    seat(run, dict(SEATED))
    words = catalogue("en")
    with held([run]):
        watch = TicketsWatch(tmp_path / "results")
        watch.look()
        board = tell_board(watch.tickets(), [], words, tmp_path / "results", tickets.at(1))
        line = board["tickets"][0]  # type: ignore[index]
        (seen,) = watch.tickets()
        shown = tell_ticket(seen, words, tickets.at(1))
    assert "card at work at 0000:01:00.0, slot PCIEX16_2" in line["marks"]
    assert "slot PCIEX16_2" in shown["runs"][0]["title"]  # type: ignore[index]


def test_a_batch_and_a_record_keep_where_each_card_sat(tmp_path: Path) -> None:
    there = cards_of_bench(Options(simulated="three_cards"))
    named = tuple(Named(card.identity().address, "", "short_x8") for card in there)
    batch = new_batch(
        choose(there, Wanted(named, "", (), tmp_path, True)), Options(simulated="three_cards")
    )
    write_batch(tmp_path, batch)
    again = read_batch(batch_file(tmp_path, batch.batch_id))
    assert [card.slot_name for card in again.cards] == ["PCIE1", "PCIE2", "PCIE3"]
    assert card_text(again.cards[1], catalogue("en")).endswith("at 0000:02:00.0, slot PCIE2")
    for card in there:
        assert whereabouts(card)["screens"] == (
            "DP-1 (Fenwick 27), DP-2 (Fenwick 27), HDMI-A-1 (Fenwick 24)"
        )
        assert not isinstance(whereabouts(card)["slot_name"], NotMeasured)


def test_a_batch_from_before_slots_had_names_is_read(tmp_path: Path) -> None:
    there = cards_of_bench(Options(simulated="three_cards"))[:1]
    named = (Named(there[0].identity().address, "", "short_x8"),)
    batch = new_batch(choose(there, Wanted(named, "", (), tmp_path, True)), Options())
    write_batch(tmp_path, batch)
    file = batch_file(tmp_path, batch.batch_id)
    content = json.loads(file.read_text("utf-8"))
    del content["cards"][0]["slot_name"], content["check"]
    content["check"] = batches._check(content)
    file.write_text(json.dumps(content), "utf-8")
    assert read_batch(file).cards[0].slot_name == ""


def test_the_page_of_one_run_says_where_its_card_is_beside_the_question(tmp_path: Path) -> None:
    folder = seat(write_run(tmp_path, 2, EIGHT[1]), dict(SEATED))
    with held([folder]):
        watching = Watching(tmp_path)
        while watching.look():
            continue
        with watching.seen(folder) as seen:
            page = tell(seen, catalogue("en"), str(tmp_path))
    said = "at 0000:02:00.0, slot PCIEX16_2; screens on it: DP-1 (Fenwick 27), HDMI-A-1"
    assert page["prompt"]["of"] == said  # type: ignore[index]
