"""A record of hours: its last state at once, all of it soon, and nothing told that is not known."""

from __future__ import annotations

import threading
import time
from pathlib import Path

import pytest

from burnin.core.verdict import RunVerdict
from burnin.page import judging
from burnin.page.judging import Judging, judged
from burnin.page.record_watch import RecordWatch
from burnin.page.run_so_far import CURVES, RunSoFar
from burnin.page.telling.tell import tell
from burnin.record.growing import tail
from burnin.record.growing.following import FollowedRecord
from burnin.record.reader import read_record
from burnin.record.schema.tables import SAMPLES
from burnin.report.languages.catalogue import catalogue
from tests.page.long_records import PEAK_C, write_long

HOURS = 0.05


@pytest.fixture(scope="module")
def cut_off(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("long") / "2026-03-02" / "20260302T091500Z-1a2b"
    return write_long(folder, HOURS, ended=False, fails=False)


@pytest.fixture(scope="module")
def ended(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("long") / "2026-03-02" / "20260302T091500Z-3c4d"
    return write_long(folder, HOURS)


def short_parts(monkeypatch: pytest.MonkeyPatch) -> None:
    """The tables of a few minutes are as long as those of hours are."""
    monkeypatch.setattr(tail, "PART_BYTES", 1 << 16)
    monkeypatch.setattr(tail, "MOST_LINE_BYTES", 1 << 15)
    for name in tail.END_BYTES:
        monkeypatch.setitem(tail.END_BYTES, name, 1 << 14)


def test_the_first_look_tells_the_end_and_no_word_that_needs_the_begin(
    cut_off: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    short_parts(monkeypatch)
    watch = RecordWatch(cut_off, threading.Lock())
    assert watch.look()
    words = catalogue("en")
    told = tell(watch.seen, words, "results")
    assert told["at_s"] == pytest.approx(HOURS * 3600.0, abs=1.0)
    assert told["stage"]["title"] == words.stage("thermal_ramp")  # type: ignore[index]
    assert told["stages"][0]["word"] == "PASS"  # type: ignore[index]
    assert told["figures"]["errors"]["value"] == "–"  # type: ignore[index]
    assert any("being read" in line for line in told["notices"])  # type: ignore[attr-defined]
    watch.seen.phase = watch.seen.phase.RUNNING
    assert tell(watch.seen, words, "")["word"]["text"] == "BEING READ"  # type: ignore[index]


def test_all_of_it_comes_to_the_same_as_reading_it_from_its_begin(
    cut_off: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = RunSoFar()
    followed = FollowedRecord(cut_off, columns=CURVES)
    while (news := followed.look()).some or news.more:
        whole.take(news)
    short_parts(monkeypatch)
    watch = RecordWatch(cut_off, threading.Lock())
    looks = 0
    while watch.look():
        looks += 1
    assert looks > 5
    so_far = watch.seen.so_far
    assert not so_far.begin_unread
    assert so_far.link_errors() == whole.link_errors() == (1, None)
    assert so_far.stages == whole.stages
    assert so_far.sample == whole.sample
    assert watch.seen.curves.since(0) == whole.curves.since(0)
    assert max(span.high[0] or 0.0 for span in watch.seen.curves.spans.values()) == PEAK_C


def test_what_failed_is_told_from_the_first_look_on(
    ended: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    short_parts(monkeypatch)
    watch = RecordWatch(ended, threading.Lock())
    watch.look()
    watch.seen.phase = watch.seen.phase.RUNNING
    told = tell(watch.seen, catalogue("en"), "")
    assert told["word"]["text"] == "A VALUE FAILED"  # type: ignore[index]


@pytest.mark.parametrize("end_bytes", [400, 1000, 1001, 1002, 5000, 1 << 24])
def test_a_table_that_is_opened_at_its_end_gives_whole_lines_and_the_last_ones(
    cut_off: Path, monkeypatch: pytest.MonkeyPatch, end_bytes: int
) -> None:
    for name in tail.END_BYTES:
        monkeypatch.setitem(tail.END_BYTES, name, end_bytes)
    followed = FollowedRecord(cut_off, at_ends=True)
    rows = [row.elapsed_s for row in followed.look().samples]
    every = list(read_record(cut_off).series.elapsed_s)
    assert rows == every[-len(rows) :]
    assert (SAMPLES in followed.passed_over) is (len(rows) < len(every))


def test_columns_alone_are_those_of_the_whole_rows(cut_off: Path) -> None:
    news = FollowedRecord(cut_off, columns=("power_w", "memory_temp_c", "no_such")).look()
    series = read_record(cut_off).series
    assert [at_s for at_s, _ in news.points] == list(series.elapsed_s)
    assert [values[0] for _, values in news.points] == list(series.columns["power_w"])
    assert {values[1:] for _, values in news.points} == {(None, None)}
    assert [row.elapsed_s for row in news.samples] == [series.elapsed_s[-1]]


def test_the_word_of_a_long_record_is_made_apart_and_is_the_same(
    ended: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    here = judged(ended)
    assert here[0] is RunVerdict.FAIL
    monkeypatch.setattr(judging, "MOST_HERE_BYTES", 0)
    apart = Judging(ended)
    while (found := apart.look()) is None:
        time.sleep(0.02)
    assert found == here
