"""Calls that fail or are short: no row that was used is lost, and none is followed by a verdict."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

from burnin.core.errors import NotFound
from burnin.core.events import Event
from burnin.core.system import KNOWN, ours
from burnin.core.verdict import RunVerdict
from burnin.record.reader import read_record
from burnin.record.sums import RUN_FILE
from burnin.record.writer import RecordWriter
from tests.faults.failing_calls import ERRORS, at_random, fail
from tests.faults.fault import COUNT, FAIL, SHORT, Fault
from tests.faults.forked import Forks
from tests.faults.killed_runs import Bench, whole_run
from tests.faults.used_events import held, row_of
from tests.long import few_short
from tests.record.streams import HandClock, stream

pytestmark = pytest.mark.faults


def _write(folder: Path, used: list[Event]) -> OSError | None:
    """Write all events that the record takes; what it raised first."""
    clock, refused = HandClock(), None
    try:
        writer = RecordWriter(folder, clock, 0.0)
    except OSError as error:
        return error
    for event in stream():
        clock.sleep_s(clock.moves_s)
        try:
            writer(event)
        except OSError as error:
            refused = refused or error
        else:
            used.append(event)
    writer.close()
    return refused


def _check(folder: Path, used: list[Event], refused: OSError | None) -> None:
    """What was used is there; what was refused has no verdict, and a code of our own."""
    if refused is not None:
        assert ours(refused).reason.code
        assert refused.filename, "the file is named"
    if not (folder / RUN_FILE).exists():
        assert refused is not None
        assert not used
        return
    record = read_record(folder)
    rows = Counter(row for row in map(row_of, used) if row is not None)
    assert not rows - held(record)
    if record.run.verdict is not RunVerdict.INCOMPLETE:
        every = Counter(row for row in map(row_of, stream()) if row is not None)
        assert not every - held(record), "a verdict stands on every row"
    else:
        assert refused is not None


def _calls(folder: Path) -> int:
    """How many calls the writing of all events takes."""
    told = folder / "calls"
    with Fault(COUNT, str(told)).planted():
        _write(folder / "run", [])
    return told.stat().st_size


OFTEN = (("once", 1), ("for ever", 0))


@pytest.mark.parametrize(
    ("case", "error", "times"),
    few_short(
        [(f"{error} {often}", error, times) for error in ERRORS for often, times in OFTEN],
        ["ENOSPC once", "EINTR once"],
    ),
)
def test_whichever_call_fails_no_verdict_follows_on_a_lost_row(
    tmp_path: Path, case: str, error: str, times: int
) -> None:
    count = _calls(tmp_path)
    for nth in range(1, count + 1):
        folder, used = tmp_path / f"run-{nth}", list[Event]()
        with Fault(FAIL, "", nth, error=error, times=times).planted():
            refused = _write(folder, used)
        _check(folder, used, refused)
        if times == 1 and error != "EACCES":  # a folder above may be nobody's to sync
            assert (refused is None) == (error == "EINTR"), "a signal is no broken disk"


def test_a_write_that_stores_half_is_gone_on_with(tmp_path: Path) -> None:
    for times in (1, 0):
        folder, used = tmp_path / f"run-{times}", list[Event]()
        with Fault(SHORT, "write", 3, times=times).planted():
            assert _write(folder, used) is None
        _check(folder, used, None)
        assert len(used) == len(stream())


@pytest.mark.parametrize("gone", ["folder", "table"])
def test_a_record_that_is_taken_away_under_the_run_takes_no_further_row(
    tmp_path: Path, gone: str
) -> None:
    clock, folder = HandClock(), tmp_path / "run"
    writer = RecordWriter(folder, clock, 0.0)
    events = stream()
    for event in events[:6]:
        writer(event)
    for path in sorted(folder.iterdir()):
        if gone == "folder" or path.name in ("journal.csv", "samples.csv", "readings.csv"):
            path.unlink()
    if gone == "folder":
        folder.rmdir()
    refused = []
    for event in events[6:]:
        try:
            writer(event)
        except OSError as error:
            refused.append(error)
    assert refused
    assert KNOWN[refused[0].errno or 0][0] is NotFound
    if gone == "table":
        assert read_record(folder).run.verdict is RunVerdict.INCOMPLETE


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    with Forks() as forks:
        bench = Bench(tmp_path_factory.mktemp("bench"), forks)
        bench.burnin("shop", "--init")
        yield bench


@pytest.mark.many
@pytest.mark.long
def test_the_command_ends_in_its_codes_whichever_call_fails(bench: Bench, tmp_path: Path) -> None:
    whole, draw = whole_run(bench, "healthy", tmp_path / "whole"), random.Random(14)
    for number in range(60):
        (tmp_path / str(number)).mkdir()
        found = fail(bench, whole, at_random(draw), tmp_path / str(number))
        assert not found.flaws, str(found)
