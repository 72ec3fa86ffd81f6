"""A disk that keeps only what was synced, in any order: nothing that was used is ever lost."""

from __future__ import annotations

import os
import random
import shutil
import stat
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from unittest.mock import patch

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from burnin.core.errors import RecordError
from burnin.core.events import Event, RunStarted
from burnin.core.files import disk
from burnin.record.reader import read_record
from burnin.record.sums import RUN_FILE
from burnin.record.writer import RecordWriter
from tests.faults.simulated_disk import PowerCut, SimulatedDisk
from tests.faults.used_events import Row, held, row_of
from tests.record.streams import HandClock, stream

pytestmark = pytest.mark.faults
EVENTS = stream()


@pytest.fixture(scope="module")
def calls_count(tmp_path_factory: pytest.TempPathFactory) -> int:
    """How many calls the writing of all events takes."""
    root = tmp_path_factory.mktemp("disk")
    simulated = SimulatedDisk(root)
    with simulated.mounted():
        _write(root / "T-1" / "run", EVENTS)
    return simulated.calls


def _write(folder: Path, events: list[Event], used: list[Event] | None = None) -> None:
    """Put events on record; those are used from which the writer has returned."""
    clock = HandClock()
    writer = RecordWriter(folder, clock, 0.0)
    for event in events:
        clock.sleep_s(clock.moves_s)
        writer(event)
        if used is not None:
            used.append(event)
    writer.close()


def _cut(root: Path, at: int, *, after: bool, draw: random.Random) -> tuple[Path, list[Event]]:
    """What a cut leaves of a record, and the events that were used before it."""
    simulated, used = SimulatedDisk(root / "seen", at, after=after), list[Event]()
    (root / "seen").mkdir()
    with simulated.mounted(), suppress(PowerCut):
        _write(root / "seen" / "T-1" / "run", EVENTS, used)
    simulated.after_a_cut(root / "left", draw)
    return root / "left" / "T-1" / "run", used


def _rows(events: list[Event]) -> Counter[Row]:
    return Counter(row for row in map(row_of, events) if row is not None)


@pytest.fixture
def room(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    room = tmp_path_factory.mktemp("cut")
    yield room
    shutil.rmtree(room)


def _check(room: Path, at: int, after: bool, seed: int) -> None:
    """All rows that were used are there, and the record goes on as if nothing had been."""
    shutil.rmtree(room)
    room.mkdir()
    folder, used = _cut(room, at, after=after, draw=random.Random(seed))
    begun = any(isinstance(event, RunStarted) for event in used)
    if not begun and not (folder / RUN_FILE).exists():
        assert not used
        return
    record = read_record(folder)
    assert not _rows(used) - held(record), "a row that was used is lost"
    condition = record.condition
    unsound = (*condition.edited, *condition.disagrees, *condition.damaged, *condition.foreign)
    assert not (*unsound, *condition.missing)
    _write(folder, EVENTS)
    again = read_record(folder)
    assert not (_rows(used) + _rows(EVENTS)) - held(again), "going on lost a row"
    condition = again.condition
    assert not (*condition.edited, *condition.disagrees, *condition.damaged, *condition.foreign)
    assert again.run.verdict == "fail"


@settings(max_examples=40)
@given(at=st.integers(1, 400), after=st.booleans(), seed=st.integers(0, 2**20))
def test_what_was_used_before_a_cut_is_on_disk_and_the_record_goes_on(
    tmp_path_factory: pytest.TempPathFactory, calls_count: int, at: int, after: bool, seed: int
) -> None:
    room = tmp_path_factory.mktemp("cut")
    _check(room, 1 + at % calls_count, after, seed)
    shutil.rmtree(room)


@pytest.mark.long
@pytest.mark.parametrize("after", [False, True], ids=["before", "after"])
def test_a_cut_at_every_call_loses_nothing_that_was_used(
    room: Path, calls_count: int, after: bool
) -> None:
    for at in range(1, calls_count + 1):
        for seed in range(4):
            _check(room, at, after, seed)


@pytest.mark.parametrize("name", ["fdatasync", "fsync"])
def test_a_writer_that_leaves_a_sync_out_is_found(
    room: Path, calls_count: int, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(disk, "_again", _leaving_out(name))
    found = 0
    for seed in range(60):
        draw = random.Random(seed)
        try:
            _check(room, draw.randint(1, calls_count), draw.random() < 0.5, seed)
        except (AssertionError, RecordError, FileNotFoundError):
            found += 1
    assert found > 5


def _leaving_out(name: str) -> Callable[[Callable[[], object]], object]:
    """The calls of the disk without one of them."""

    def again(call: Callable[[], object]) -> object:
        with patch.object(os, name, lambda _: None):
            return call()

    return again


def test_a_replaced_file_is_synced_under_its_new_name_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """FAT keeps size and place of a file beside its name: after a rename they are to be written.

    Ten cuts of ten on a real vfat left no run.json without it (tests/kernel/power_cuts.py).
    """
    calls: list[str] = []
    for name in ("fsync", "replace"):
        real = getattr(os, name)

        def told(*given: object, _real: Callable[..., object] = real, _name: str = name) -> object:
            what = _name if not isinstance(given[0], int) else _kind(given[0])
            calls.append(what)
            return _real(*given)

        monkeypatch.setattr(os, name, told)
    disk.replace_whole(tmp_path / "file", b"content")
    assert calls == ["file", "replace", "file", "folder"]


def _kind(handle: int) -> str:
    return "folder" if stat.S_ISDIR(os.fstat(handle).st_mode) else "file"
