"""Two hundred open tickets: their order, one broken among them, numbers alike and odd, memory.

`gave:` is what came of a case when it was first carried out; without one it held.
"""

from __future__ import annotations

import json
import random
import shutil
import tracemalloc
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

import pytest

from burnin.core.errors import BurninError
from burnin.page.telling.board import MOST_SHOWN, tell_board
from burnin.page.telling.ticket import tell_ticket
from burnin.page.tickets.watch import TicketsWatch
from burnin.page.tickets.working_out import worked_out
from burnin.record.event_log import LogEvent, append
from burnin.report.languages.catalogue import catalogue
from burnin.ticket.log.store import add, open_ticket, read_ticket, ticket_folder
from burnin.ticket.log.ticket_from_log import LOG
from burnin.ticket.ticket_list import find_tickets, open_tickets
from tests.others.several.at_once import said
from tests.ticket.tickets import START, at, ticket

FEW, MANY = 20, 200
NOW = at(24.0)


@dataclass(frozen=True)
class Shop:
    """All tickets, and a board that has seen them."""

    results: Path
    watch: TicketsWatch

    def board(self) -> dict[str, object]:
        self.watch.look()
        words = catalogue("en")
        return tell_board(self.watch.tickets(), self.watch.faults(), words, self.results, NOW)

    def names(self) -> list[str]:
        """All, in the board's order; of many it shows the first and says how many more."""
        board, seen = self.board(), [one.name for one in self.watch.tickets()]
        shown = [str(line["name"]) for line in board["tickets"]]  # type: ignore[attr-defined]
        assert shown == seen[:MOST_SHOWN]
        assert (str(len(seen) - len(shown)) in str(board["more"])) is (len(seen) > len(shown))
        return seen


@pytest.fixture(scope="module", params=[FEW, pytest.param(MANY, marks=pytest.mark.long)])
def shop(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Shop]:
    """Opened in the order of their numbers, promised on days of no order, many on the same."""
    folder = tmp_path_factory.mktemp("many")
    drawn = random.Random(4711)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("BURNIN_SHOP", str(folder / "shop"))
        for number in range(request.param):
            day = f"2026-03-{drawn.randrange(1, 20):02d}" if number % 5 else ""
            fields = {"customer": "Ottilie Maro", "promised": day}
            open_ticket(
                folder / "results", f"{5000 + number}", {k: v for k, v in fields.items() if v},
                simulated=True, expedited=number % 17 == 0, by="J. Wren", now=START,
            )  # fmt: skip
        yield Shop(folder / "results", TicketsWatch(folder / "results"))


def test_board_and_list_have_all_of_them_in_the_same_order(shop: Shop) -> None:
    listed, faults = open_tickets(shop.results)
    numbers = [line.ticket.number for line in listed]
    assert (len(numbers), faults) == (len(list(shop.results.iterdir())), [])
    assert shop.names() == numbers
    assert shop.names() == numbers
    words = find_tickets(shop.results, "maro")[0]
    assert [line.ticket.number for line in words] == numbers


def test_late_ones_stand_first_then_expedited_ones_then_by_day_then_by_number(shop: Shop) -> None:
    lines = open_tickets(shop.results, NOW)[0]
    keys = [
        (-line.late_days, not line.ticket.expedited, line.ticket.intake.get("promised") or "9999",
         line.ticket.number)
        for line in lines
    ]  # fmt: skip
    assert keys == sorted(keys)


def test_the_order_of_equals_stays_when_one_is_taken_away_and_put_back(
    shop: Shop, tmp_path: Path
) -> None:
    # gave: the one that came back stood behind its equals on the board, and before them in the list
    before = shop.names()
    folder = ticket_folder(shop.results, before[9])
    shutil.move(folder, tmp_path / "away")
    assert shop.names() == [name for name in before if name != before[9]]
    assert shop.watch.ticket(before[9]) is None
    shutil.move(tmp_path / "away", folder)
    assert shop.names() == before


def test_two_hundred_tickets_take_little_memory_however_often_one_looks(shop: Shop) -> None:
    tracemalloc.start()
    try:
        watch = TicketsWatch(shop.results)
        watch.look()
        once, _ = tracemalloc.get_traced_memory()
        for _ in range(5):
            watch.look()
        five, _ = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert once < 12 << 20
    assert five - once < 1 << 20


def _line(folder: Path, kind: str, fields: dict[str, object]) -> None:
    append(folder / LOG, lambda _: [LogEvent("2026-03-02T10:00:00.000Z", kind, "x", fields)])


def _number_for_a_day(folder: Path) -> None:
    _line(folder, "corrected", {"promised": 20260310})


def _a_day_that_never_was(folder: Path) -> None:
    _line(folder, "corrected", {"promised": "2026-02-30"})


def _a_day_without_end(folder: Path) -> None:
    _line(folder, "corrected", {"promised": "9" * 4000})


def _bytes(folder: Path) -> None:
    (folder / LOG).write_bytes(b"\xff\xfe\x00" * 400)


def _nested(folder: Path) -> None:
    (folder / LOG).write_text("[" * 100_000 + "\n")


def _folder(folder: Path) -> None:
    (folder / LOG).unlink()
    (folder / LOG).mkdir()


def _moment_before_all_time(folder: Path) -> None:
    _line(folder, "deferred", {"stage": "x", "reason": "x", "from_utc": "0001-01-01T00:00:00+23"})


def _link_to_itself(folder: Path) -> None:
    (folder / LOG).unlink()
    (folder / LOG).symlink_to(folder / LOG)


@pytest.mark.parametrize(
    "breaks",
    [
        # gave: a log that is a link to nowhere was on no board, in no list and in no fault
        _number_for_a_day, _a_day_that_never_was, _a_day_without_end, _bytes, _nested, _folder,
        _moment_before_all_time, _link_to_itself,
    ],
)  # fmt: skip
def test_one_broken_ticket_costs_the_others_nothing(
    breaks: Callable[[Path], None], shop: Shop, tmp_path: Path
) -> None:
    before = shop.names()
    folder = ticket_folder(shop.results, "5007")
    shutil.copytree(folder, tmp_path / "kept")
    try:
        breaks(folder)
        others = [name for name in before if name != "5007"]
        board = shop.board()
        there = [seen.name for seen in shop.watch.tickets()]
        assert [name for name in there if name != "5007"] == others
        named = [fault for fault in board["faults"] if "5007" in str(fault)]  # type: ignore[attr-defined]
        assert ("5007" in there) is not bool(named)
        lines, faults = open_tickets(shop.results)
        assert [ln.ticket.number for ln in lines if ln.ticket.number != "5007"] == others
        assert bool(faults) is bool(named)
        for line in [line for line in lines if line.ticket.number == "5007"]:
            assert catalogue("de").say(line.owes[0].reason)
        shop.watch.work()
    finally:
        shutil.rmtree(folder)
        shutil.move(tmp_path / "kept", folder)


NEARLY = [
    ("4711", "4711 "), ("4711", "47 11"), ("47/11", "47-11"), ("a4711", "A4711"),
    ("Kärcher 1", "Ka\u0308rcher 1"),
    ("4711", "４７１１"), ("4711", "\u200b4711"), ("4711", "04711"),
    ("4711", "4711."), ("4711", "4711\n"), ("4711", "\u202e1174"),
]  # fmt: skip


@pytest.mark.parametrize(("first", "second"), NEARLY)
def test_numbers_that_are_nearly_the_same_are_two_tickets_or_the_second_is_refused(
    first: str, second: str, tmp_path: Path
) -> None:
    # gave: a4711 beside A4711 was opened: on a stick, whose file system knows no upper and lower
    # case, one of the two takes the other's place
    ticket(tmp_path, first)
    code, output = said(
        "ticket", "open", second, "--simulated", "--customer", "Pelle Varn",
        "--results", str(tmp_path),
    )  # fmt: skip
    assert "Traceback" not in output
    assert code in (0, 2)
    assert read_ticket(tmp_path, first).intake["customer"] == "Ottilie Maro"
    listed, faults = open_tickets(tmp_path, NOW)
    assert (len(listed), faults) == (1 + (code == 0), [])
    if code == 0:
        folders = {line.ticket.folder.name.casefold() for line in listed}
        assert len(folders) == 2  # a stick of FAT32 knows no upper and lower case
        shown = {"".join(c for c in ln.ticket.number if c.isprintable()).strip() for ln in listed}
        assert len(shown) == 2, "two tickets that no eye can tell apart"


ODD = [
    "../4711", "..", "/etc/passwd", "-p", "--help", "", " ", "\0", "a\nb", "CON", "nul.txt", ".git",
    "🛠️🔥", "x" * 400, "é" * 200, "<b>{{7*7}}</b>", "$(id)", "a\\b", "4711\x1b[31m", "%s%n", "*",
    "~", "batches", "nights", "bench", ".desk", "2026-03-02", "handover-1", "'; DROP TABLE",
]  # fmt: skip


@pytest.mark.parametrize("number", ODD)
def test_an_odd_number_is_a_ticket_of_its_own_that_is_found_again_or_is_refused(
    number: str, tmp_path: Path
) -> None:
    results = tmp_path / "results"
    code, output = said(
        "ticket", "open", "--simulated", "--customer", "Pelle Varn", "--results", str(results),
        "--", number,
    )  # fmt: skip
    assert "Traceback" not in output
    assert "\x1b" not in output
    assert code in (0, 2)
    outside = [p for p in tmp_path.iterdir() if p.name not in ("results", "shop")]
    assert outside == []
    if code:
        assert not list(results.rglob("events.jsonl"))
        return
    assert said("ticket", "show", "--results", str(results), "--", number)[0] == 0
    watch = TicketsWatch(results)
    watch.look()
    words = catalogue("en")
    board = json.dumps(tell_board(watch.tickets(), watch.faults(), words, results, NOW))
    assert "\\u001b" not in board
    (seen,) = watch.tickets()
    assert "/" not in seen.name
    assert len(seen.name.encode()) <= 255
    assert tell_ticket(seen, words, NOW)


def test_a_beginning_of_a_number_opens_no_other_ticket(shop: Shop) -> None:
    for number in ("500", "5", "50000", "5000 5001"):
        with pytest.raises(BurninError):
            read_ticket(shop.results, number)


def test_a_ticket_that_is_taken_away_while_it_is_shown_is_told_gone_and_a_new_one_is_new(
    tmp_path: Path,
) -> None:
    first = ticket(tmp_path, "4711")
    add(first, "noted", {"text": "brittle pads"}, now=at(1.0))
    watch = TicketsWatch(tmp_path)
    with watch.shown("4711"):
        watch.look()
        while watch.work():
            continue
        shutil.rmtree(first.folder)
        watch.look()
        assert watch.ticket("4711") is None
        assert not watch.work()
        open_ticket(tmp_path, "4711", {"customer": "Pelle Varn"}, simulated=True, now=at(2.0))
        watch.look()
        seen = watch.ticket("4711")
        assert seen is not None
        assert seen.worked_out is None
        assert seen.ticket.notes == ()
        told = json.dumps(tell_ticket(seen, catalogue("en"), at(3.0)))
    assert "brittle" not in told


def test_a_ticket_that_goes_while_it_is_worked_out_leaves_nothing_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from burnin.page.tickets import watch as watching

    there = ticket(tmp_path, "4711")
    watch = TicketsWatch(tmp_path)

    def goes(*words: object) -> object:
        shutil.rmtree(there.folder, ignore_errors=True)
        watch.look()
        return worked_out(*words)  # type: ignore[arg-type]

    monkeypatch.setattr(watching, "worked_out", goes)
    watch.look()
    watch.work()
    assert watch.tickets() == []
    assert watch.faults() == []


def test_a_results_folder_that_goes_and_comes_back_is_shown_again(
    tmp_path: Path,
) -> None:
    results = tmp_path / "results"
    ticket(results, "4711")
    watch = TicketsWatch(results)
    watch.look()
    results.rename(tmp_path / "unmounted")
    watch.look()
    assert watch.tickets() == []
    (tmp_path / "unmounted").rename(results)
    watch.look()
    assert [seen.name for seen in watch.tickets()] == ["4711"]
    assert timedelta(0) < NOW - START
