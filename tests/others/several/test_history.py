"""The history before folders that were copied, moved, renamed or edited: nothing counts twice."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from burnin.history.store import open_to_write
from burnin.history.sync import sync
from burnin.report.languages.catalogue import catalogue
from burnin.ticket.log.ticket_from_log import LOG
from tests.history.conftest import named
from tests.history.shop import make_shop
from tests.history.shop_files import write_shop


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
