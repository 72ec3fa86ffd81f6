"""A night's queue: in the morning every card has its word, and none was burnt in for nothing."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from burnin.cli.night.due import Bench, Standing, look
from burnin.cli.night.kept import Night, night_file, read_night, unfinished, write_night
from burnin.cli.night.queue_file import QueuedCard, load_queue
from burnin.core.clock import iso
from burnin.core.errors import BadInput, RecordError
from burnin.core.verdict import RunVerdict
from burnin.record.batches.batch import Batch, CardOfBatch, batches_in, read_batch
from burnin.record.reader import read_record
from burnin.run.bench import Options, cards_of_bench
from burnin.ticket.bound_card.facts import facts_of
from burnin.ticket.log.store import open_ticket, read_ticket
from burnin.ticket.put_off import put_off_stage
from burnin.ticket.runs_on_ticket import RunBegins, begun
from tests.cli.batch.test_several_cards import burnin
from tests.run.batch.batches import SHORT, profile_in

FIRST, SECOND = "0000:01:00.0", "0000:02:00.0"
NOW = datetime(2026, 3, 2, 22, 0, tzinfo=UTC)


def bench(results: Path, *batches: Batch) -> Bench:
    return Bench(cards_of_bench(Options(simulated="three_cards")), results, True, batches)


def batch(card: CardOfBatch, began: datetime = NOW) -> Batch:
    return Batch("b", iso(began), (card,), True)


def queue_in(folder: Path, text: str) -> Path:
    path = folder / "tonight.toml"
    path.write_text(text, "utf-8")
    return path


def test_a_card_without_a_ticket_has_one_run(tmp_path: Path) -> None:
    queued = QueuedCard(card="01:00.0")
    assert look(queued, bench(tmp_path), NOW).standing is Standing.NOW
    assert look(QueuedCard(card="09:00.0"), bench(tmp_path), NOW).standing is Standing.NOT_THERE
    ran = bench(tmp_path, batch(CardOfBatch(FIRST, word=RunVerdict.CONDITIONAL, ended=True)))
    assert look(queued, ran, NOW).standing is Standing.DONE


def test_a_ticket_is_found_by_its_card_and_taken_up_when_the_time_of_what_it_owes_has_come(
    tmp_path: Path,
) -> None:
    cards = cards_of_bench(Options(simulated="three_cards"))
    intake = {"customer": "Ottilie Maro", "profile": "short_x8"}
    ticket = open_ticket(tmp_path, "4711", intake, simulated=True)
    facts = facts_of(cards[1].identity(), None)
    queued = QueuedCard(ticket="4711")
    assert look(queued, bench(tmp_path), NOW).standing is Standing.NOT_THERE
    begun(ticket.folder, RunBegins("earlier", True, facts))
    first = look(queued, bench(tmp_path), NOW)
    assert (first.standing, first.address) == (Standing.NOW, SECOND)
    later = datetime.now(UTC) + timedelta(hours=3)
    put_off_stage(read_ticket(tmp_path, "4711"), "thermal_ramp", "pads come", from_=iso(later))
    now = datetime.now(UTC)
    done = CardOfBatch(SECOND, ticket="4711", word=RunVerdict.CONDITIONAL, ended=True)
    after = bench(tmp_path, batch(done, now))
    waits = look(queued, after, now + timedelta(minutes=5))
    assert waits.standing is Standing.LATER
    assert waits.from_utc is not None
    assert abs(waits.from_utc - later) < timedelta(minutes=1)
    assert look(queued, after, later + timedelta(minutes=1)).standing is Standing.NOW
    again = bench(tmp_path, batch(done, now), batch(done, later + timedelta(minutes=2)))
    assert look(queued, again, later + timedelta(minutes=9)).standing is Standing.DONE


@pytest.mark.parametrize("word", [RunVerdict.FAIL, RunVerdict.ABORTED, None])
def test_what_failed_or_came_to_no_word_is_not_tried_again_in_the_same_night(
    word: RunVerdict | None, tmp_path: Path
) -> None:
    intake = {"customer": "Ottilie Maro", "profile": "short_x8"}
    open_ticket(tmp_path, "4711", intake, simulated=True)
    queued = QueuedCard(ticket="4711", card="01:00.0")
    ended = CardOfBatch(FIRST, ticket="4711", word=word, ended=True)
    looked = look(queued, bench(tmp_path, batch(ended)), NOW)
    assert (looked.standing, looked.last) == (Standing.DONE, ended)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "cards"), ("[[cards]]\n", "by its ticket"), ('[[cards]]\ncrd = "x"\n', "crd"),
        ('from = "25:00"\n[[cards]]\ncard = "01:00.0"\n', "from"), ("cards = 3", "cards"),
        ("[[cards", "tonight.toml"), ('[[cards]]\ncard = "slot 2"\n', "write it as 01:00.0"),
        ('[[cards]]\ncard = "01:00.0"\n[[cards]]\ncard = "0000:01:00.0"\n', "queued twice"),
        ('[[cards]]\nticket = "7"\n[[cards]]\nticket = "7"\n', "queued twice"),
    ],
)  # fmt: skip
def test_a_faulty_queue_is_told_with_its_place(text: str, said: str, tmp_path: Path) -> None:
    file = queue_in(tmp_path, text)
    with pytest.raises(BadInput) as refused:
        load_queue(file)
    assert "tonight.toml" in str(refused.value)
    assert said in str(refused.value)
    code, output = burnin(tmp_path, "night", str(file), "--results", str(tmp_path / "results"))
    assert (code, said in output) == (2, True)


def test_a_night_is_read_back_and_goes_on_until_it_has_ended(tmp_path: Path) -> None:
    file = tmp_path / "tonight.toml"
    night = Night("20260302T200000Z-1a2b", str(file), iso(NOW), iso(NOW)).with_batch("b")
    write_night(tmp_path, night)
    assert unfinished(tmp_path, file) == night
    assert unfinished(tmp_path, tmp_path / "other.toml") is None
    for content in ("{}", "[]", "x", '{"format": 1, "batches": [], "more": 1}'):
        path = night_file(tmp_path, "x")
        path.write_text(content, "utf-8")
        with pytest.raises(RecordError, match=r"x\.json"):
            read_night(path)


QUEUE = '[[cards]]\nticket = "4711"\ncard = "01:00.0"\n[[cards]]\ncard = "02:00.0"\n'


class Shop:
    """A shop whose supply carries one load at a time, a ticket, and a queue of two cards."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.results = folder / "shop", folder / "results"
        self.folder.mkdir()
        power = "[power]\nsupply_w = 350.0\nbench_w = 100.0\n"
        (self.folder / "shop.toml").write_text(power, "utf-8")
        profile = profile_in(folder, SHORT)
        intake = {"customer": "Ottilie Maro", "profile": profile}
        self.ticket = open_ticket(self.results, "4711", intake, simulated=True)
        self.words = ["night", str(queue_in(folder, QUEUE)), "--simulated", "three_cards",
                      "--pace", "4", "-p", profile, "--results", str(self.results)]  # fmt: skip

    def verdicts(self, ticket: str) -> list[RunVerdict]:
        """Of all records of a ticket, or of none, the oldest first."""
        records = [read_record(path.parent) for path in self.results.glob("*/*/run.json")]
        mine = [r for r in records if r.run.ticket.number == ticket]
        return [r.run.verdict for r in sorted(mine, key=lambda record: record.folder.name)]


def runs_of(keeper: int) -> list[int]:
    """Processes that a process has started."""
    return [int(n) for n in Path(f"/proc/{keeper}/task/{keeper}/children").read_text().split()]


@pytest.mark.long
def test_a_night_with_a_power_cut_in_the_middle_of_a_load(tmp_path: Path) -> None:
    shop = Shop(tmp_path)
    night = subprocess.Popen(
        [sys.executable, "-m", "burnin", *shop.words], stdout=subprocess.PIPE,
        env=os.environ | {"BURNIN_SHOP": str(shop.folder)},
    )  # fmt: skip
    assert night.stdout is not None
    for line in night.stdout:
        if b"2 of 2" in line:  # at work, or waiting for the other one's watts
            break
    for pid in (*runs_of(night.pid), night.pid):
        os.kill(pid, signal.SIGKILL)
    night.communicate()
    assert RunVerdict.PASS not in shop.verdicts("")
    code, output = burnin(shop.folder, *shop.words)
    assert code == 0, output
    assert "goes on where it was cut" in output
    assert "2 of 2 cards have a word" in output
    assert shop.verdicts("4711") == shop.verdicts("") == [RunVerdict.PASS]
    (file,) = batches_in(shop.results)
    assert read_batch(file).ended_utc


@pytest.mark.long
def test_what_a_ticket_owes_is_taken_up_when_its_time_has_come(tmp_path: Path) -> None:
    shop = Shop(tmp_path)
    soon = iso(datetime.now(UTC) + timedelta(seconds=15))
    put_off_stage(shop.ticket, "compute", "the paste is warm", from_=soon)
    code, output = burnin(shop.folder, *shop.words)
    assert code == 0, output
    *before, last = shop.verdicts("4711")
    assert last is RunVerdict.PASS
    assert set(before) <= {RunVerdict.CONDITIONAL}  # one, unless the bench was very slow
    assert shop.verdicts("") == [RunVerdict.PASS]
    code, output = burnin(shop.folder, *shop.words)
    assert "ticket 4711 (01:00.0): owes nothing" in output
