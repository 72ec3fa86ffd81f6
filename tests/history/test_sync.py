"""What is taken in, once; what is kept apart and why; what a kill leaves; who is named."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pyarrow.parquet as pq
import pytest

from burnin.core.errors import BadInput
from burnin.history.coming import APART, SAME, TAKEN
from burnin.history.meanings import HistoryReason
from burnin.history.opened import open_history
from burnin.history.pseudonym import pseudonyms, without
from burnin.history.sample_files import sample_file, samples
from burnin.history.store import FILE, open_to_write
from burnin.history.sync import sync
from burnin.record.reader import read_record
from burnin.record.sums import sha256
from tests.history.conftest import OnDisk, named
from tests.history.contents import content_of_folder as content
from tests.history.shop import make_shop
from tests.history.shop_files import OLD, write_run, write_shop


def states(store: Path) -> Counter[tuple[object, ...]]:
    with open_to_write(store) as opened:
        return Counter(opened.ask("SELECT kind, state FROM sources"))


def test_all_is_taken_in_or_kept_apart(on_disk: OnDisk) -> None:
    kept, visits = on_disk.kept, len(on_disk.shop.visits)
    assert on_disk.synced.taken == kept.whole + kept.old + visits
    assert len(on_disk.synced.apart) == kept.torn + kept.edited + kept.unclosed
    why = Counter(reason.code for _, reason in on_disk.synced.apart)
    assert why[HistoryReason.NOT_CLOSED.value] == kept.unclosed
    assert why[HistoryReason.FLAWED.value] == kept.torn + kept.edited
    assert states(on_disk.store) == {
        ("record", TAKEN): kept.whole + kept.old,
        ("record", APART): kept.torn + kept.edited + kept.unclosed,
        ("ticket", TAKEN): visits,
    }


def test_a_second_time_nothing_changes(on_disk: OnDisk) -> None:
    before = content(on_disk.store)
    again = sync(on_disk.results, on_disk.store, named)
    assert (again.taken, again.apart) == (0, ())
    assert content(on_disk.store) == before


def test_a_store_made_anew_is_the_same(on_disk: OnDisk, tmp_path: Path) -> None:
    sync(on_disk.results, tmp_path / "other", named)
    assert content(tmp_path / "other") == content(on_disk.store)


def test_rows_are_those_of_the_record(on_disk: OnDisk) -> None:
    visit = next(visit for visit in on_disk.shop.visits if visit.runs)
    folder = on_disk.results / visit.number / "run-1"
    record = read_record(folder)
    key = record.data_sha256
    with open_to_write(on_disk.store) as store:
        told = store.ask(
            "SELECT reading, value, unit, verdict, file, file_sha256 FROM readings"
            " WHERE run_key = ? ORDER BY row", (key,),
        )  # fmt: skip
        sum_ = sha256((folder / "readings.csv").read_bytes())
        name = f"{visit.number}/run-1/readings.csv"
        assert [(row[0], float(str(row[1])), *row[2:]) for row in told] == [
            (r.name, r.value, r.unit, r.verdict.value if r.verdict else None, name, sum_)
            for r in record.all_readings
        ]
        assert store.ask("SELECT card_serial, verdict FROM runs WHERE run_key = ?", (key,)) == [
            (visit.serial, record.run.verdict.value)
        ]
    whole = pq.read_table(sample_file(on_disk.store, key))
    assert whole.column("gpu_temp_c").to_pylist() == list(record.series.columns["gpu_temp_c"])
    few = samples(on_disk.store, key, 3)
    assert few.num_rows == 3
    assert max(few.column("gpu_temp_c").to_pylist()) == max(whole.column("gpu_temp_c").to_pylist())


def test_old_records_come_through_their_migration(on_disk: OnDisk) -> None:
    with open_to_write(on_disk.store) as store:
        old = store.ask("SELECT count(*) FROM runs WHERE format_read = 1 AND format = 2")
        readings = store.ask(
            "SELECT count(*) FROM readings JOIN runs USING (run_key) WHERE format_read = 1"
        )
    assert old == [(on_disk.kept.old,)]
    assert int(str(readings[0][0])) > 20


@pytest.mark.long
def test_several_processes_read_what_one_does(on_disk: OnDisk, tmp_path: Path) -> None:
    found = sync(on_disk.results, tmp_path / "other", named, jobs=2)
    assert (found.taken, len(found.apart)) == (on_disk.synced.taken, len(on_disk.synced.apart))
    assert content(tmp_path / "other") == content(on_disk.store)
    assert not [*(tmp_path / "other").rglob("*.new")]


@pytest.fixture
def small(tmp_path: Path) -> Path:
    results = tmp_path / "results"
    write_shop(results, make_shop(4, 3))
    return results


def test_a_copy_counts_once_and_a_move_is_followed(small: Path) -> None:
    store = small / ".history"
    folder = next(small.glob("*/run-1"))
    shutil.copytree(folder, small / "2022-12-24" / "copy")
    sync(small, store, named)
    runs = len([*small.glob("*/run-*")])
    assert states(store)["record", TAKEN] == runs
    assert states(store)["record", SAME] == 1
    holder = "2022-12-24/copy"
    (small / holder).rename(small / "2022-12-24" / "moved")
    sync(small, store, named)
    with open_to_write(store) as opened:
        assert opened.ask("SELECT count(*), count(DISTINCT run_key) FROM runs") == [(runs, runs)]
        assert opened.ask("SELECT count(*) FROM runs WHERE file LIKE '%moved%'") == [(1,)]


def test_a_record_that_is_edited_later_is_taken_out(small: Path) -> None:
    store = small / ".history"
    sync(small, store, named)
    path = next(small.glob("*/run-1")) / "readings.csv"
    key = read_record(path.parent).data_sha256
    path.write_bytes(path.read_bytes().replace(b"GB/s", b"GB/h", 1))
    again = sync(small, store, named)
    assert [place for place, _ in again.apart] == [f"{path.parent.parent.name}/run-1"]
    with open_to_write(store) as opened:
        for table in ("runs", "readings", "stages", "events"):
            sql = f"SELECT count(*) FROM {table} WHERE run_key = ?"
            assert opened.ask(sql, (key,)) == [(0,)]
    assert not sample_file(store, key).exists()


def test_a_run_that_goes_on_is_taken_in_when_it_ends(small: Path) -> None:
    visit = make_shop(4, 3).visits[0]
    folder = small / visit.number / "late"
    write_run(folder, visit, visit.runs[0], closed=False)
    store = small / ".history"
    assert [why.code for _, why in sync(small, store, named).apart] == ["history_not_closed"]
    shutil.rmtree(folder)
    write_run(folder, visit, visit.runs[0])
    found = sync(small, store, named)
    assert (found.taken, found.apart) == (1, ())


def test_a_few_are_taken_in_where_that_is_asked_one_folder_first(small: Path) -> None:
    numbers = sorted(path.name for path in small.iterdir())
    store, last = small / ".history", numbers[-1]
    found = sync(small, store, named, first=last, most=2)
    assert found.taken == 2
    with open_to_write(store) as opened:
        assert opened.ask("SELECT DISTINCT split_part(place, '/', 1) FROM sources") == [(last,)]
        assert opened.ask("SELECT synced_utc FROM store") == [(None,)]
    with pytest.raises(BadInput, match="history_no_store"), open_history(store):
        pass  # what it holds is not all that there is
    rest = sync(small, store, named)
    assert rest.taken == len(numbers) + len([*small.glob("*/run-*")]) - 2


KILLED = """
import os, sys
from pathlib import Path
import burnin.history.looked_at as looked_at
import burnin.history.sync as syncing
from burnin.history.store import Store
left = int(sys.argv[3])
def counted(real):
    def call(*given, **named):
        global left
        left -= 1
        if left < 0:
            os.kill(os.getpid(), 9)
        return real(*given, **named)
    return call
syncing.AT_ONCE = 3
Store.add = counted(Store.add)
Store.ask = counted(Store.ask)
looked_at.write_samples = counted(looked_at.write_samples)
syncing.put_in_place = counted(syncing.put_in_place)
syncing.sync(Path(sys.argv[1]), Path(sys.argv[2]), lambda c: "somebody" if c else "")
"""


@pytest.mark.faults
@pytest.mark.parametrize(
    "after", [24, *(pytest.param(n, marks=pytest.mark.long) for n in (5, 9, 14, 19, 31, 40))]
)
def test_a_sync_that_is_killed_goes_on_where_it_was(
    small: Path, tmp_path: Path, after: int
) -> None:
    killed, whole = tmp_path / "killed", tmp_path / "whole"
    kills = 0
    for _ in range(2):
        command = [sys.executable, "-c", KILLED, str(small), str(killed), str(after)]
        ended = subprocess.run(command, env={**os.environ}, check=False, capture_output=True)
        if ended.returncode == 0:
            break
        assert ended.returncode == -signal.SIGKILL, ended.stderr.decode()
        kills += 1
    assert kills
    sync(small, killed, named)
    sync(small, whole, named)
    assert content(killed) == content(whole)


def test_a_store_of_another_layout_is_made_anew(small: Path) -> None:
    store = small / ".history"
    sync(small, store, named)
    with open_to_write(store) as opened:
        opened.ask("UPDATE store SET layout = 'older'")
    with pytest.raises(BadInput, match="history_other_layout"), open_history(store):
        pass
    assert sync(small, store, named).taken > 4
    with open_history(store) as history:
        assert history.as_of.year >= 2026


def test_who_else_writes_is_told(small: Path) -> None:
    store = small / ".history"
    sync(small, store, named)
    holds = subprocess.Popen(
        [sys.executable, "-c", "import duckdb, sys; c = duckdb.connect(sys.argv[1]);"
         " print(1, flush=True); sys.stdin.read()", str(store / FILE)],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE,
    )  # fmt: skip
    assert holds.stdout is not None
    try:
        holds.stdout.readline()
        with pytest.raises(BadInput, match="history_store_held"):
            sync(small, store, named)
        with pytest.raises(BadInput, match="history_store_held"), open_history(store):
            pass
    finally:
        holds.communicate(b"")


def test_no_customer_is_named_in_the_store(on_disk: OnDisk, tmp_path: Path) -> None:
    hidden = tmp_path / "hidden"
    sync(on_disk.results, hidden, pseudonyms(tmp_path / "shop"))
    rows = [str(row) for table in content(hidden).values() for row in table]
    names = {visit.customer for visit in on_disk.shop.visits}
    assert not [row for row in rows if any(name in row for name in names)]
    assert not any(
        name.encode() in path.read_bytes() for path in hidden.rglob("*") if path.is_file()
        for name in names
    )  # fmt: skip
    with open_to_write(hidden) as store:
        of_one = store.ask("SELECT count(DISTINCT customer) FROM tickets")
    assert of_one == [(len(names),)]


def test_names_stand_there_where_the_shop_says_so(small: Path) -> None:
    store = small / ".history"
    sync(small, store, str.strip, names_kept=True)
    with open_to_write(store) as opened:
        told = opened.ask("SELECT customer, fault FROM tickets")
    assert all(str(name).startswith("Customer ") and str(name) in str(f) for name, f in told)


def test_a_pseudonym_is_the_same_for_the_same_customer_under_the_same_key(tmp_path: Path) -> None:
    first, again, other = (pseudonyms(tmp_path / name) for name in ("a", "a", "b"))
    assert first("Ottilie Maro") == again(" ottilie  maro ") != first("Otto Maro")
    assert first("Ottilie Maro") != other("Ottilie Maro")
    assert (tmp_path / "a" / "history.key").stat().st_mode & 0o077 == 0
    assert without("Maro", "x", "the MARO card, maro") == "the x card, x"
    assert without("", "x", "as it is") == "as it is"
    assert without('Otto "O" Maro', "x", '{"who": "Otto \\"O\\" Maro"}') == '{"who": "x"}'
    assert without("Maro", "x", "İ Maro") == "x"


def test_what_fits_no_column_is_kept_apart_wholly(tmp_path: Path) -> None:
    """Records of an older format carry no check over their rows: whatever stands there is read."""
    results = tmp_path / "results"
    for number, (old, new) in enumerate(
        (
            ('"memory_bytes": ', '"memory_bytes": 99999999999999999999'),
            ('"run_id": "', '"run_id": "\\ud800'),
        )
    ):
        folder = results / "day" / f"run-{number}"
        shutil.copytree(OLD / "hand_made_passed", folder)
        (folder / "checksums.sha256").unlink(missing_ok=True)
        text = (folder / "run.json").read_text("utf-8")
        assert old in text
        (folder / "run.json").write_text(text.replace(old, new, 1), "utf-8")
    found = sync(results, results / ".history", named)
    assert [why.code for _, why in found.apart][:1] == ["history_does_not_fit"]
    assert found.taken + len(found.apart) == 2
    held = content(results / ".history")
    assert sum(held["runs"].values()) == found.taken
    keys = {row[0] for row in held["readings"]}
    assert len(keys) == found.taken


def test_a_card_that_told_its_uuid_alone_is_the_one_with_the_serial_number(tmp_path: Path) -> None:
    shop = make_shop(1, 2)
    visit = shop.visits[0]
    folders = [tmp_path / "day" / f"run-{n}" for n in range(3)]
    told = (("S1", "GPU-1"), (None, "GPU-1"), (None, "GPU-2"))
    for folder, (serial, uuid) in zip(folders, told, strict=True):
        write_run(folder, visit, visit.runs[0], serial=serial, uuid=uuid)
    store = tmp_path / ".history"
    sync(tmp_path, store, named)
    with open_to_write(store) as opened:
        found = opened.ask("SELECT card_key FROM runs ORDER BY file")
        cards = opened.ask("SELECT card_key, runs_count FROM cards ORDER BY card_key")
    assert found == [("S1",), ("S1",), ("GPU-2",)]
    assert cards == [("GPU-2", 1), ("S1", 2)]
