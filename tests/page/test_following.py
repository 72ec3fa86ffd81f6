"""A record is read while it grows, each line once, whatever state the end of a file is in."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from burnin.core.errors import RecordError
from burnin.core.meaning import Reason
from burnin.core.reading import NotMeasured, Reading
from burnin.core.verdict import RunVerdict
from burnin.page.run_so_far import RunSoFar
from burnin.page.seen import Phase
from burnin.page.telling.tell import tell
from burnin.page.terms import WordSoFar
from burnin.page.watching import Watching
from burnin.record.growing.following import FollowedRecord, News
from burnin.record.journal import JournalEntry
from burnin.record.reader import read_record
from burnin.record.schema.folders import newest_record
from burnin.record.schema.tables import JOURNAL, READINGS, SAMPLES, SampleRow
from burnin.report.languages.catalogue import catalogue, language_names
from burnin.run.record_lock import lock_record
from tests.record import streams
from tests.refusals import refused
from tests.report import records

FILES = (JOURNAL, READINGS, SAMPLES, "not_read.csv")


@pytest.fixture
def whole(tmp_path: Path) -> Path:
    return streams.write(tmp_path / "whole")


def all_of(followed: FollowedRecord) -> RunSoFar:
    so_far = RunSoFar()
    while (news := followed.look()).some or news.more:
        so_far.take(news)
    return so_far


@pytest.mark.parametrize("step", [1, 7, 64, 1000])
def test_what_comes_in_pieces_is_what_the_reader_reads_as_a_whole(
    whole: Path, tmp_path: Path, step: int
) -> None:
    growing = tmp_path / "growing"
    growing.mkdir()
    shutil.copy(whole / "run.json", growing)
    followed = FollowedRecord(growing)
    content = {name: (whole / name).read_bytes() for name in FILES}
    entries: list[JournalEntry] = []
    readings: list[Reading] = []
    samples: list[SampleRow] = []
    for end in range(0, max(map(len, content.values())) + step, step * 25):
        for name, raw in content.items():
            (growing / name).write_bytes(raw[:end])
        news = followed.look()
        entries += news.entries
        readings += news.readings
        samples += news.samples
    for name, raw in content.items():
        (growing / name).write_bytes(raw)
    news = followed.look()
    record = read_record(whole)
    assert [*entries, *news.entries] == list(record.journal)
    assert [*readings, *news.readings] == list(record.all_readings)
    moments = [row.elapsed_s for row in (*samples, *news.samples)]
    assert moments == list(record.series.elapsed_s)
    assert not followed.look().some


def test_a_torn_end_waits_and_a_line_that_is_none_is_passed_over(whole: Path) -> None:
    followed = FollowedRecord(whole)
    all_of(followed)
    with (whole / SAMPLES).open("ab") as file:
        file.write(b"99.0,2026-")
    assert not followed.look().some
    with (whole / SAMPLES).open("ab") as file:
        file.write(b"\n\0\0\0\n")
    assert not followed.look().samples


def test_a_file_that_became_shorter_is_read_anew(whole: Path) -> None:
    followed = FollowedRecord(whole)
    all_of(followed)
    raw = (whole / SAMPLES).read_bytes()
    (whole / SAMPLES).write_bytes(raw[: raw.rfind(b"\n", 0, -1) + 1])
    news = followed.look()
    assert news.anew
    assert [row.elapsed_s for row in news.samples] == [1.25, 1.5]


def test_a_folder_without_a_record_says_so(tmp_path: Path) -> None:
    with refused(RecordError, match=r"run\.json"):
        FollowedRecord(tmp_path).look()


def looked(watching: Watching) -> Watching:
    while watching.look():
        pass
    watching.look()
    return watching


def test_the_newest_record_is_the_one_that_was_written_last(tmp_path: Path) -> None:
    assert newest_record(tmp_path / "none") is None
    first = records.passed().write(tmp_path / "2026-03-01" / "a")
    (tmp_path / "2026-03-02" / "empty").mkdir(parents=True)
    assert newest_record(tmp_path) == first
    second = records.failed().write(tmp_path / "4711" / "b")
    assert newest_record(tmp_path) == second
    (first / JOURNAL).touch()
    assert newest_record(tmp_path) == first


def test_a_run_that_nobody_writes_any_more_is_cut_off_and_never_running(tmp_path: Path) -> None:
    folder = tmp_path / "2026-03-01" / "a"
    streams.write(folder, streams.stream()[:-1])
    held = lock_record(folder)
    watching = looked(Watching(tmp_path))
    with watching.seen() as seen:
        assert seen.phase is Phase.RUNNING
    held.release()
    looked(watching)
    with watching.seen() as seen:
        assert seen.phase is Phase.CUT_OFF
        told = tell(seen, catalogue("en"), "results")
    assert told["can_stop"] is False
    assert told["prompt"] is None
    assert told["word"]["text"] == "CUT OFF"  # type: ignore[index]
    assert lock_record(folder) is not None  # looking took nothing


def test_the_word_of_a_closed_run_is_that_of_its_sheet_also_where_it_was_edited(
    tmp_path: Path,
) -> None:
    folder = streams.write(tmp_path / "2026-03-01" / "a")
    with looked(Watching(tmp_path)).seen() as seen:
        assert seen.judged is not None
        assert seen.judged[0] is RunVerdict.FAIL
    raw = (folder / "run.json").read_text("utf-8")
    (folder / "run.json").write_text(raw.replace('"fail"', '"pass"'), "utf-8")
    with looked(Watching(tmp_path)).seen() as seen:
        assert seen.judged is not None
        assert seen.judged[0] is not RunVerdict.PASS


def test_while_a_run_goes_on_no_word_is_a_verdict() -> None:
    for words in map(catalogue, language_names()):
        verdicts = {word for word, _ in words.group("outcomes").values()}
        assert not {words.say(term()) for term in WordSoFar} & verdicts


def test_what_a_sensor_did_not_tell_is_told_with_its_reason(tmp_path: Path) -> None:
    folder = tmp_path / "2026-03-01" / "a"
    streams.write(folder)
    record = read_record(folder)
    missing = [s for s in record.samples() if isinstance(s.telemetry.hotspot_temp_c, NotMeasured)]
    assert missing
    so_far = all_of(FollowedRecord(folder))
    assert all(isinstance(why, Reason) for why in so_far.unread.values())
    assert so_far.unread


def test_news_of_nothing_are_none() -> None:
    assert not News().some
