"""The history before folders that were copied, moved, renamed or edited: nothing counts twice."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from burnin.history.answer import Asked
from burnin.history.headings import Heading
from burnin.history.meanings import HistoryNote
from burnin.history.opened import open_history
from burnin.history.questions.registry import ask, question_named
from burnin.history.store import open_to_write
from burnin.history.sync import sync
from burnin.report.languages.catalogue import catalogue
from burnin.ticket.log.ticket_from_log import LOG
from tests.history.conftest import named
from tests.history.shop import make_shop
from tests.history.shop_files import write_run, write_shop, write_ticket


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    results = tmp_path_factory.mktemp("made") / "results"
    write_shop(results, make_shop(3, 7, back_within_90=0.1))
    return results


def counts(results: Path, store: Path) -> dict[str, int]:
    """How many rows of each kind a store of these results holds."""
    sync(results, store, named)
    with open_to_write(store) as opened:
        return {
            name: len(list(opened.ask(f'SELECT * FROM "{name}"')))
            for name in ("runs", "tickets", "repairs", "contacts", "handovers")
        }


def _first(results: Path) -> Path:
    return sorted(results.glob(f"*/{LOG.as_posix()}"))[0].parent.parent


def _ticket_copied(results: Path) -> None:
    shutil.copytree(_first(results), results / f"{_first(results).name} copy")


def _ticket_moved(results: Path) -> None:
    _first(results).rename(results / "moved")


def _record_copied(results: Path) -> None:
    record = next(_first(results).glob("*/run.json")).parent
    shutil.copytree(record, results / "2026-01-01" / record.name)


def _record_in_the_neighbour(results: Path) -> None:
    record = next(_first(results).glob("*/run.json")).parent
    other = sorted(results.glob(f"*/{LOG.as_posix()}"))[-1].parent.parent
    shutil.move(record, other / "run-9")


def _copied_then_worked_on(results: Path) -> None:
    """A copy of a backup beside a ticket that went on since."""
    folder = _first(results)
    shutil.copytree(folder, results / "backup")
    lines = (results / "backup" / LOG).read_bytes().splitlines(keepends=True)
    (results / "backup" / LOG).write_bytes(b"".join(lines[:-1]))


@pytest.mark.parametrize(
    "done",
    [
        # gave: repairs and damage of a copied or moved ticket counted twice, so that a card that
        # passed after one repair passed "after two"
        _ticket_copied, _ticket_moved, _record_copied, _record_in_the_neighbour,
        _copied_then_worked_on,
    ],
)  # fmt: skip
def test_nothing_counts_twice(
    shop: Path, tmp_path: Path, done: Callable[[Path], None]
) -> None:
    results = tmp_path / "results"
    shutil.copytree(shop, results)
    before = counts(results, tmp_path / "store")
    done(results)
    after = counts(results, tmp_path / "store")
    assert all(after[name] <= before[name] for name in before), (before, after)


def test_why_a_log_is_kept_apart_is_a_sentence(shop: Path, tmp_path: Path) -> None:
    # gave: "cannot be read: refused_record_line_changed(file=…, line=2)"
    results = tmp_path / "results"
    shutil.copytree(shop, results)
    log = _first(results) / LOG
    log.write_bytes(log.read_bytes().replace(b"Corvane", b"Dorvane").replace(b"Halmer", b"Dalmer")
                    .replace(b"Pell", b"Dell"))  # fmt: skip
    apart = sync(results, tmp_path / "store", named).apart
    assert len(apart) == 1
    for language in ("en", "de"):
        assert "refused_" not in catalogue(language).say(apart[0][1])


def _answer(store: Path, question: str) -> dict[Heading, object]:
    """The one line of an answer about all, by its headings."""
    with open_history(store) as history:
        told = ask(history, question_named(question), Asked())
    (line,) = told.rows
    return dict(zip(told.columns, line, strict=True))


def test_a_first_run_that_cannot_be_counted_makes_no_second_one_the_first(tmp_path: Path) -> None:
    """gave: a card passed "at the first run" once its first record, a failed one, was torn."""
    results = tmp_path / "results"
    visits = make_shop(40, 3).visits
    twice = next(visit for visit in visits if len(visit.runs) == 2 and visit.runs[1].passed)
    once = next(visit for visit in visits if len(visit.runs) == 1 and visit.runs[0].passed)
    for visit in (twice, once):
        write_ticket(results, visit)
        for place, run in enumerate(visit.runs):
            write_run(results / visit.number / f"run-{place + 1}", visit, run)
    sync(results, tmp_path / "store", named)
    before = _answer(tmp_path / "store", "yield")
    assert (before[Heading.COUNT], before[Heading.PASSED]) == (2, 1)
    readings = results / twice.number / "run-1" / "readings.csv"
    readings.write_bytes(readings.read_bytes()[:-20])
    sync(results, tmp_path / "store", named)
    after = _answer(tmp_path / "store", "yield")
    assert (after[Heading.COUNT], after[Heading.PASSED]) == (1, 1)


def test_a_return_on_a_day_to_come_makes_no_card_one_that_stayed_away(tmp_path: Path) -> None:
    """gave: watched for all of the 90 days, and not come back: a bench's clock stood in 2041."""
    results, store = tmp_path / "results", tmp_path / "store"
    out = datetime.now(UTC).replace(tzinfo=None) - timedelta(days=10.0)
    visit = replace(make_shop(1, 7).visits[0], number="1", opened=out, out=out, runs=[], repairs=[])
    write_ticket(results, visit)
    ahead = datetime(2041, 1, 1)
    write_ticket(results, replace(visit, number="2", opened=ahead, out=None))
    for number in ("1", "2"):
        run = make_shop(1, 7).visits[0].runs[0]
        at = out if number == "1" else ahead
        write_run(results / number / "run-1", replace(visit, number=number), replace(run, at=at))
    sync(results, store, named)
    with open_history(store) as history:
        told = ask(history, question_named("came-back"), Asked())
    censored = next(note for note in told.notes if note.means(HistoryNote.CENSORED))
    assert dict(censored.data) == {"open_count": 1, "all_count": 1}
