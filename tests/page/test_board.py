"""The board: open tickets by urgency, what each owes, the word of its last run; what changes."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from PIL import Image

from burnin.core.clock import iso
from burnin.page.record_names import record_name, record_of
from burnin.page.telling.board import tell_board
from burnin.page.telling.ticket import tell_ticket
from burnin.page.tickets.seen import TicketSeen
from burnin.page.tickets.watch import TicketsWatch
from burnin.report.languages.catalogue import catalogue, language_names
from burnin.ticket.intake.photos import add_photo
from burnin.ticket.log.days_and_spans import utc_now
from burnin.ticket.log.store import add, read_ticket
from burnin.ticket.ticket_list import open_tickets
from tests.ticket import tickets

NOW = tickets.at(24.0)
MARKUP = '<img src=x onerror=alert(1)>{{ 7*7 }}\u202e'


@pytest.fixture(autouse=True)
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BURNIN_SHOP", str(tmp_path / "shop"))


@pytest.fixture
def results(tmp_path: Path) -> Path:
    """A late ticket with a failed run, one that owes its whole run, and a closed one."""
    folder = tmp_path / "results"
    late = tickets.ticket(folder, "4711", promised="2026-03-01", profile="desktop_air")
    tickets.run_of(late, 1.0, s4="fail")
    tickets.ticket(folder, "4722", card="Harrow Peak 7 Duo", promised="2026-03-20")
    closed = tickets.ticket(folder, "4700")
    add(closed, "closed", {}, now=NOW)
    return folder


def worked(watch: TicketsWatch) -> TicketsWatch:
    watch.look()
    while watch.work():
        continue
    return watch


def told(watch: TicketsWatch, results: Path, language: str = "en") -> dict[str, object]:
    words = catalogue(language)
    return tell_board(watch.tickets(), watch.faults(), words, results, NOW)


def lines(board: dict[str, object]) -> Iterator[dict[str, object]]:
    yield from board["tickets"]  # type: ignore[misc]


def test_open_tickets_stand_there_in_the_order_of_the_list_and_say_what_they_owe(
    results: Path,
) -> None:
    board = told(worked(TicketsWatch(results)), results)
    listed, _ = open_tickets(results, NOW)
    assert [line["number"] for line in lines(board)] == [line.ticket.number for line in listed]
    first, second = lines(board)
    assert first["word"] == {"text": "SIMULATED FAIL", "kind": "fail"}
    assert first["late"] is True
    assert "2 d LATE" in first["marks"]  # type: ignore[operator]
    owed = first["owed"]
    assert [one["kind"] for one in owed][:1] == ["fail"]  # type: ignore[attr-defined]
    assert second["word"] == {"text": "no run yet", "kind": "none"}
    assert "whole run" in second["owed"][0]["text"]  # type: ignore[index]
    assert str(second["next"]).startswith("Next: burnin run --ticket 4722 --simulated ")
    assert "Ottilie" not in json.dumps(board)  # a customer is nobody's who passes by


def test_before_it_is_worked_out_nothing_is_said_to_be_owed_or_passed(results: Path) -> None:
    watch = TicketsWatch(results)
    watch.look()
    first = next(lines(told(watch, results)))
    assert first["word"] == {"text": "being looked over", "kind": "none"}
    assert first["owed"] == [{"text": "what is owed is being worked out", "kind": "none"}]
    assert first["next"] == ""


def test_what_is_owed_later_says_from_when_and_is_worked_out_anew(results: Path) -> None:
    tickets.run_of(read_ticket(results, "4722"), 1.0, s6="not measured")
    begins_utc = iso(utc_now() + timedelta(days=2))
    fields = {"stage": "6-thermal_ramp", "reason": "pads", "from_utc": begins_utc}
    add(read_ticket(results, "4722"), "deferred", fields)
    watch = worked(TicketsWatch(results))
    seen = watch.ticket("4722")
    assert seen is not None
    assert seen.worked_out is not None
    assert seen.worked_out.until is not None
    assert utc_now() < seen.worked_out.until < utc_now() + timedelta(hours=2)
    line = next(line for line in lines(told(watch, results)) if line["number"] == "4722")
    later = [one["text"] for one in line["owed"] if one["kind"] == "later"]  # type: ignore[attr-defined]
    assert len(later) == 1
    assert later[0].startswith("from ")
    assert "pads" in later[0]


def test_a_record_that_was_edited_is_no_pass_on_the_board(results: Path) -> None:
    folder = tickets.run_of(read_ticket(results, "4722"), 2.0)
    raw = (folder / "samples.csv").read_text("utf-8")
    (folder / "samples.csv").write_text(raw.replace("0.5", "0.4", 1), "utf-8")
    (folder / "checksums.sha256").touch()
    board = told(worked(TicketsWatch(results)), results)
    word = next(line["word"] for line in lines(board) if line["number"] == "4722")
    assert "PASS" not in word["text"]  # type: ignore[index]


def test_what_somebody_else_does_is_seen_with_the_next_look(results: Path) -> None:
    watch = worked(TicketsWatch(results))
    before = watch.revision
    watch.look()
    assert watch.revision == before  # nothing changed
    add(read_ticket(results, "4722"), "noted", {"text": "customer called"}, by="Ilse Tarn", now=NOW)
    watch.look()
    assert watch.revision > before
    seen = watch.ticket("4722")
    assert seen is not None
    assert [text for *_, text in seen.ticket.notes] == ["customer called"]
    after = watch.revision
    tickets.ticket(results, "4733")
    (results / "4700" / "ticket" / "events.jsonl").unlink()
    watch.look()
    assert watch.revision > after
    assert watch.ticket("4733") is not None
    assert watch.ticket("4700") is None


def test_a_ticket_that_is_damaged_is_named_and_hides_no_other(results: Path) -> None:
    log = results / "4722" / "ticket" / "events.jsonl"
    log.write_text(log.read_text("utf-8").replace("Harrow", "Tarrow"), "utf-8")
    board = told(worked(TicketsWatch(results)), results)
    assert [line["number"] for line in lines(board)] == ["4711"]
    assert "events.jsonl" in board["faults"][0]  # type: ignore[index]


def page_of(watch: TicketsWatch, name: str, language: str = "en") -> dict[str, object]:
    seen = watch.ticket(name)
    assert isinstance(seen, TicketSeen)
    return tell_ticket(seen, catalogue(language), NOW)


def test_a_ticket_s_runs_stand_side_by_side_the_newest_first(results: Path) -> None:
    tickets.run_of(read_ticket(results, "4711"), 2.0, s6="not measured")
    page = page_of(worked(TicketsWatch(results)), "4711")
    runs = page["runs"]
    assert [run["word"]["kind"] for run in runs] == ["open", "fail"]  # type: ignore[attr-defined]
    marks = {row["title"]: row["marks"] for row in page["stages"]}  # type: ignore[attr-defined]
    assert [mark["kind"] for mark in marks["Memory"]] == ["pass", "fail"]
    assert [mark["kind"] for mark in marks["Heat under rising load"]] == ["open", "pass"]
    for run in runs:  # type: ignore[attr-defined]
        assert record_of(results, run["name"]) is not None


@pytest.mark.parametrize("language", language_names())
def test_whatever_people_typed_is_data_and_one_line(results: Path, language: str) -> None:
    ticket = tickets.ticket(results, "4799", customer=MARKUP, card=MARKUP, fault=f"{MARKUP}\n2nd")
    photo = results / f"{MARKUP[:20].replace('/', '')}.png"
    Image.new("RGB", (8, 8)).save(photo)
    add_photo(ticket, photo, note=MARKUP)
    page = page_of(worked(TicketsWatch(results)), "4799", language)
    texts = [text for _, text in page["facts"]]  # type: ignore[attr-defined]
    assert any("onerror=alert(1)>{{ 7*7 }}" in text for text in texts)
    whole = json.dumps(page)
    assert "\\u202e" not in whole
    assert "\\n" not in whole


@pytest.mark.parametrize(
    "name",
    [
        "", "/", "..", "../..", "4711", "4711/", "/4711", "4711/..", "4711/../4711", "4711/ticket",
        "../results/4711", "4711/.", "/etc/passwd", "4711/\0", "é" * 400,
    ],
)  # fmt: skip
def test_no_name_leads_out_of_the_records(results: Path, name: str) -> None:
    assert record_of(results, name) is None


def test_a_link_is_followed_nowhere(results: Path, tmp_path: Path) -> None:
    run = next((results / "4711").glob("*/run.json")).parent
    assert record_of(results, record_name(run)) == run
    (tmp_path / "elsewhere").symlink_to(run.parent)
    (results / "linked").symlink_to(run.parent)
    (results / "4722" / "linked").symlink_to(run)
    assert record_of(results, f"linked/{run.name}") is None
    assert record_of(results, "4722/linked") is None


def test_a_day_later_a_ticket_is_later_by_a_day(results: Path) -> None:
    watch = worked(TicketsWatch(results))
    words = catalogue("en")
    board = tell_board(watch.tickets(), [], words, results, NOW + timedelta(days=1))
    assert "3 d LATE" in next(lines(board))["marks"]  # type: ignore[operator]
