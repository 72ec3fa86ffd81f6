"""Every question beside the same question worked out by hand; planted truths are found."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from burnin.core.errors import BadInput
from burnin.history.answer import Answer, Asked
from burnin.history.headings import Heading
from burnin.history.meanings import HistoryNote
from burnin.history.opened import OpenHistory, open_history
from burnin.history.questions.came_back import answer as came_back_of
from burnin.history.questions.registry import QUESTIONS, ask, question_named
from burnin.history.rows import arrow
from burnin.history.store import open_to_write
from burnin.history.tables import IN_DATABASE
from tests.history.by_hand import BY_HAND, Frames
from tests.history.conftest import AtOnce, OnDisk
from tests.history.odd_rows import odd_rows, plain
from tests.history.shop_rows import store_of_shop

WAYS = [(name, by) for name, question in QUESTIONS.items() for by in question.ways or ("",)]


@pytest.fixture(scope="module")
def odd(tmp_path_factory: pytest.TempPathFactory) -> Iterator[OpenHistory]:
    until, rows = odd_rows()
    folder = tmp_path_factory.mktemp("odd")
    with open_to_write(folder) as store, store.whole():
        for table in IN_DATABASE:
            store.add(table, arrow(table, rows[table.name]))
        store.ask("UPDATE store SET synced_utc = ?", (until,))
    with open_history(folder) as history:
        yield history


@pytest.mark.parametrize(("name", "by"), WAYS)
def test_rows_are_those_worked_out_by_hand(odd: OpenHistory, name: str, by: str) -> None:
    card = odd.rows(odd.table("tickets").order_by("number").limit(1, offset=1))[0]["card_key"]
    asked = Asked(by=by, card=card)
    found = plain(odd.rows(QUESTIONS[name].rows(odd, asked)))
    assert found == plain(BY_HAND[name](Frames(odd), asked))
    assert found


@pytest.mark.parametrize("name", ["stages", "drift", "good", "came-back"])
def test_the_simulated_machine_is_asked_of_alone(on_disk: OnDisk, name: str) -> None:
    """The records of an older format that lie there are of the simulated machine."""
    asked = Asked(by=(QUESTIONS[name].ways or ("",))[0], simulated=True)
    with open_history(on_disk.store) as history:
        found = plain(history.rows(QUESTIONS[name].rows(history, asked)))
        assert found == plain(BY_HAND[name](Frames(history, simulated=True), asked))
        told = ask(history, QUESTIONS[name], replace(asked, by=""))
    assert any(note.means(HistoryNote.SIMULATED) for note in told.notes)


@pytest.fixture(scope="module")
def direct_store(on_disk: OnDisk, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return store_of_shop(tmp_path_factory.mktemp("direct"), on_disk.shop)


@pytest.mark.parametrize(("name", "by"), WAYS)
def test_files_and_rows_of_one_shop_give_one_answer(
    on_disk: OnDisk, direct_store: Path, name: str, by: str
) -> None:
    """What was taken in from records is what the shop that wrote them did."""
    card = on_disk.shop.visits[3].serial
    asked = Asked(by=by, card=card)
    question = QUESTIONS[name]
    with open_history(on_disk.store) as files, open_history(direct_store) as direct:
        # Both were taken in at other moments, and what is watched ends with that.
        files = replace(files, as_of=direct.as_of)
        one, two = ask(files, question, asked), ask(direct, question, asked)
    assert len(one.rows) == len(two.rows)
    for row, other in zip(one.rows, two.rows, strict=True):
        assert [_rounded(c) for c in row] == [_rounded(c) for c in other]


def _rounded(cell: object) -> object:
    """Files hold milliseconds and a few figures."""
    if isinstance(cell, float):
        return float(f"{cell:.3g}")
    return cell[:22] if isinstance(cell, str) and cell.endswith("Z") else cell


def lines(answer: Answer) -> list[dict[str, Any]]:
    keys = [heading.key for heading in answer.columns]
    return [dict(zip(keys, row, strict=True)) for row in answer.rows]


def test_a_repair_that_comes_back_twice_as_often_is_found(
    asked: OpenHistory, planted: AtOnce
) -> None:
    found = lines(ask(asked, question_named("came-back"), Asked(by="repair")))
    worst = found[0]
    assert worst["group"] == planted.planted.bad_repair
    assert worst["claim"]
    assert worst["low"] > found[-1]["share"]
    whole = lines(ask(asked, question_named("came-back"), Asked()))[0]
    assert whole["count"] == sum(1 for visit in planted.shop.visits if visit.out is not None)
    assert 0.07 < whole["share"] < 0.14


def test_a_bench_that_drifts_is_found_with_its_reading_and_since_when(
    asked: OpenHistory, planted: AtOnce
) -> None:
    found = [row for row in lines(ask(asked, question_named("drift"), Asked())) if row["claim"]]
    assert [(row["bench"], row["reading"]) for row in found] == [
        (planted.planted.drifting_bench, "gpu_temp_settled_c")
    ]
    assert found[0]["low"] < 0.5 < found[0]["high"] + 0.1
    assert "2023-10" < found[0]["since_utc"] < "2025-01"


def test_a_stage_that_finds_nothing_is_told_with_how_much_it_may_miss(
    asked: OpenHistory, planted: AtOnce
) -> None:
    found = {row["stage"]: row for row in lines(ask(asked, question_named("stages"), Asked()))}
    blind = found[planted.planted.blind_stage]
    assert (blind["found"], blind["found_per_1000"], blind["low"]) == (0, 0.0, 0.0)
    assert 0.0 < blind["high"] < 3.0
    assert blind["minutes_each"] == pytest.approx(3.0, rel=0.02)
    assert found["link"]["found_per_hour"] > 1.0 > found["thermal_ramp"]["found_per_hour"]
    assert blind["found_per_hour"] == 0.0


def test_nothing_else_is_claimed_of_that_shop(asked: OpenHistory) -> None:
    for name, by in (("yield", "bench"), ("came-back", "model"), ("contacts", ""), ("doubts", "")):
        answer = ask(asked, question_named(name), Asked(by=by))
        assert not any(row["claim"] for row in lines(answer)), name
    assert lines(ask(asked, question_named("outliers"), Asked())) == []


def test_known_good_cards_lie_as_far_apart_as_they_were_made(asked: OpenHistory) -> None:
    found = {
        (row["model"], row["reading"]): row
        for row in lines(ask(asked, question_named("good"), Asked()))
    }
    memory = found["Pell Ridge X", "memory_gbs"]
    assert memory["count"] > 200
    assert memory["median"] == pytest.approx(840.0, abs=1.5)
    assert memory["standard_deviation"] == pytest.approx(6.0, rel=0.15)


def test_days_that_are_not_over_are_no_days_without_a_return() -> None:
    """Ten back after 30 days, ten watched for 20: of those that were watched, all came back."""
    rows = [
        {"number": f"a{n}", "at_utc": n, "watched_days": 30.0, "came_back": True, "group": "a"}
        for n in range(10)
    ] + [
        {"number": f"b{n}", "at_utc": n, "watched_days": 20.0, "came_back": False, "group": "a"}
        for n in range(10)
    ]  # fmt: skip
    told = lines(came_back_of(rows, Asked(days=90.0, by="all")))[0]
    assert (told["count"], told["came_back"], told["share"]) == (20, 10, 1.0)
    early = lines(came_back_of(rows, Asked(days=25.0, by="all")))[0]
    assert (early["came_back"], early["share"]) == (0, 0.0)


def test_a_wrong_question_is_told_with_those_that_there_are(asked: OpenHistory) -> None:
    with pytest.raises(BadInput, match="came-back"):
        question_named("nonesuch")
    with pytest.raises(BadInput, match="technician"):
        ask(asked, question_named("yield"), Asked(by="weather"))
    with pytest.raises(BadInput, match="history_needs_card"):
        ask(asked, question_named("life"), Asked())
    with pytest.raises(BadInput, match="history_no_such_card"):
        ask(asked, question_named("life"), Asked(card="nobody"))


@pytest.mark.parametrize("name", QUESTIONS)
def test_each_answers_rows_are_as_wide_as_its_columns(odd: OpenHistory, name: str) -> None:
    answer = ask(odd, question_named(name), Asked(card="R-000002"))
    assert {len(row) for row in answer.rows} <= {len(answer.columns)}
    assert isinstance(answer.columns[0], Heading)
    assert answer.notes[0].means(HistoryNote.AS_OF)
