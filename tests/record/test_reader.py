"""What the writer puts on disk, the reader gives back; what is wrong with it has a name."""

from __future__ import annotations

import contextlib
import json
import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from burnin.core.errors import RecordError
from burnin.core.events import (
    Asked,
    GuardTripped,
    Noted,
    Promised,
    ReadingTaken,
    RunFinished,
    RunStarted,
    SampleTaken,
    StageFinished,
    StageStarted,
    TrafficSummed,
)
from burnin.core.meaning import Reason
from burnin.core.reading import Limit, NotMeasured, Reading, Verdict
from burnin.core.sample import TELEMETRY_NAMES
from burnin.core.verdict import StageOutcome, StageVerdict
from burnin.record.condition import Condition
from burnin.record.journal import JournalEntry
from burnin.record.reader import Record, read_record, read_run
from burnin.record.reasons import RecordReason
from burnin.record.schema.tables import TABLES
from burnin.record.writer import RecordWriter
from tests.record import streams
from tests.refusals import refused

FIRST, SECOND = "1-enumeration", "2-link"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A whole record; nobody changes it."""
    return streams.write(tmp_path_factory.mktemp("record") / "r")


@pytest.fixture
def copy(folder: Path, tmp_path: Path) -> Path:
    """A record to be harmed, without checksums."""
    target = tmp_path / "r"
    shutil.copytree(folder, target)
    (target / "checksums.sha256").unlink()
    return target


def test_an_untouched_record_has_no_flaw(folder: Path) -> None:
    record = read_record(folder)
    assert record.condition == Condition(vouched=True, chained=True)
    assert record.condition.whole
    assert record.untyped == ()
    assert record.format_read == 2


def test_everything_that_a_run_opens_and_closes_with_comes_back(folder: Path) -> None:
    run, opened = read_record(folder).run, streams.opening()
    for name in ("card", "profile", "engine", "ticket", "temperature_limits", "sensor_steps"):
        assert getattr(run, name) == getattr(opened, name), name
    for name in ("bench", "guards", "options", "tool", "sources"):
        assert dict(getattr(run, name)) == dict(getattr(opened, name)), name
    assert run.simulated
    assert (run.simulated_scenario, run.simulated_seed) == ("healthy", 3)
    end = streams.stream()[-1]
    assert isinstance(end, RunFinished)
    assert (run.verdict, run.reason, run.ended, run.owed) == (
        end.verdict,
        end.reason,
        end.ended,
        end.owed,
    )
    assert [stage.outcome() for stage in run.stages] == [
        StageOutcome(FIRST, "enumeration", "", StageVerdict.PASS),
        StageOutcome(
            SECOND, "link", "Link again", StageVerdict.FAIL, (streams.WhyReason.NO_LAMP(),)
        ),
    ]
    assert [stage.taken_over for stage in run.stages] == [True, False]
    assert all(s.ended_s is not None and s.ended_s > (s.started_s or 0) for s in run.stages)
    assert read_run(folder) == run


def test_readings_come_back_as_they_were_judged(folder: Path) -> None:
    taken = tuple(e.reading for e in streams.stream() if isinstance(e, ReadingTaken))
    assert read_record(folder).all_readings == taken


def test_samples_come_back_with_the_reason_of_every_blank(folder: Path) -> None:
    taken = [e.sample for e in streams.stream() if isinstance(e, SampleTaken)]
    assert list(read_record(folder).samples()) == taken


def test_a_blank_cell_without_a_reason_is_not_measured_all_the_same(copy: Path) -> None:
    (copy / "not_read.csv").unlink()
    record = read_record(copy)
    # The journal counts the rows that are gone; nothing else is wrong.
    gone = RecordReason.ROWS_GONE(file="not_read.csv", rows_count=18)
    assert record.condition.flaws == (gone,)
    hotspot = [sample.telemetry.hotspot_temp_c for sample in record.samples()]
    blank = NotMeasured(RecordReason.CELL_BLANK())
    assert hotspot == [blank, 55.5, blank]


def test_the_journal_gives_every_event_with_its_meanings(folder: Path) -> None:
    record = read_record(folder)
    kept = [
        type(event).__name__
        for event in streams.stream()
        if type(event).__name__ not in ("SampleTaken", "ReadingTaken", "StageProgress")
    ]
    assert [entry.event for entry in record.journal] == kept
    by_class = {type(event): event for event in streams.stream()}
    [trip], [note] = record.events("GuardTripped"), record.events("Noted")
    tripped, noted = by_class[GuardTripped], by_class[Noted]
    assert isinstance(tripped, GuardTripped)
    assert isinstance(noted, Noted)
    assert (trip.reason(), trip.cause(), trip.check()) == (
        tripped.reason,
        tripped.suspect,
        tripped.check,
    )
    assert note.note() == noted.note
    promised, asked = by_class[Promised], by_class[Asked]
    assert isinstance(promised, Promised)
    assert isinstance(asked, Asked)
    assert record.events("Promised")[0].notes() == promised.promise
    assert record.events("Asked")[0].prompt() == asked.prompt
    assert record.traffic == {SECOND: by_class[TrafficSummed]}
    assert record.planned == (FIRST, SECOND)
    assert record.last_elapsed_s == pytest.approx(1.75)


VALUES = st.one_of(
    st.none(),
    st.floats(allow_nan=False),
    st.integers(-(2**60), 2**60).map(float),
    st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=12),
)
DATA = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=6),
    lambda inner: st.lists(inner, max_size=3).map(tuple)
    | st.dictionaries(
        st.sampled_from(["light_lx", "reasons"]), inner, max_size=2
    ).map(lambda d: Reason("inner_code", tuple(d.items()))),
    max_leaves=6,
)
REASONS = st.none() | st.dictionaries(
    st.sampled_from(["value", "what", "lanes"]), DATA, max_size=3
).map(lambda d: Reason("some_code", tuple(d.items())))


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.builds(
        Reading,
        name=st.sampled_from(["heat_k", "edid DP-1"]),
        value=VALUES,
        unit=st.sampled_from(["", "K", "°C"]),
        uncertainty=st.floats(0, 1e6),
        limit=st.none() | st.floats(-9, 0).map(lambda low: Limit(low, None)),
        allowed=st.sampled_from([(), ("a", "b c")]),
        verdict=st.none() | st.sampled_from(Verdict),
        reason=REASONS,
        required=st.booleans(),
        stage=st.just(FIRST),
    )
)
def test_any_reading_comes_back_equal(folder: Path, tmp_path: Path, reading: Reading) -> None:
    target = tmp_path / "r"
    shutil.rmtree(target, ignore_errors=True)
    streams.write(target, [streams.stream()[0], ReadingTaken(reading)], sums=False)
    assert read_record(target).all_readings == (reading,)


def test_a_repeated_reading_counts_by_its_last_row_but_no_failure_is_hidden(
    tmp_path: Path,
) -> None:
    good = Reading("lamps", 1.0, "", verdict=Verdict.PASS, stage=FIRST)
    bad = replace(good, value=9.0, verdict=Verdict.FAIL)
    cut = replace(good, value=None, verdict=Verdict.NOT_MEASURED)
    whole = replace(cut, name="stage")
    taken = [whole, bad, cut, good]
    events = [streams.stream()[0], *(ReadingTaken(r) for r in taken)]
    record = read_record(streams.write(tmp_path / "r", events))
    assert record.all_readings == tuple(taken)
    assert record.readings == (bad, good)


def test_a_resumed_run_keeps_its_stages_and_names_its_blanks_anew(tmp_path: Path) -> None:
    events = streams.stream()
    start = events[0]
    assert isinstance(start, RunStarted)
    folder = streams.write(tmp_path / "r", events[:10], sums=False)
    clock = streams.HandClock(100.0)
    writer = RecordWriter(folder, clock, 0.0)
    writer(replace(start, opening=streams.opening(resumed=1)))
    writer(StageStarted(SECOND, "link", "Link again", 1.0))
    writer(SampleTaken(streams.sample(101.0, SECOND, hotspot=True)))
    writer(StageFinished(SECOND, "link", StageVerdict.PASS))
    writer.close()
    record = read_record(folder)
    assert [stage.verdict for stage in record.run.stages] == ["pass", "pass"]
    assert record.run.resumed == 1
    assert record.last_start > 0
    last = list(record.samples())[-1]
    assert last == streams.sample(101.0, SECOND, hotspot=True)
    assert record.condition.whole


def test_slowing_that_cannot_be_read_is_not_the_same_as_none(tmp_path: Path) -> None:
    events = streams.stream()
    start = events[0]
    assert isinstance(start, RunStarted)
    plain = streams.sample(1.0, SECOND)
    unread = replace(
        plain,
        telemetry=replace(
            plain.telemetry, throttle_reasons=NotMeasured(streams.WhyReason.NO_LAMP())
        ),
    )
    folder = streams.write(tmp_path / "r", [start, SampleTaken(unread)], sums=False)
    writer = RecordWriter(folder, streams.HandClock(2.0), 0.0)
    writer(replace(start, opening=streams.opening(resumed=1)))
    again = replace(plain, elapsed_s=3.0)
    writer(SampleTaken(again))
    writer.close()
    assert list(read_record(folder).samples()) == [unread, again]


def test_half_a_letter_in_a_name_is_read_as_a_mark(copy: Path) -> None:
    content = json.loads((copy / "run.json").read_text())
    content["ticket"]["customer"] = "Ottilie \ud800"
    (copy / "run.json").write_text(json.dumps(content))
    assert read_run(copy).ticket.customer == "Ottilie ?"


def test_another_run_in_the_same_folder_takes_no_stages_over(tmp_path: Path) -> None:
    folder = streams.write(tmp_path / "r", sums=False)
    other = streams.opening(run_id="another")
    writer = RecordWriter(folder, streams.HandClock(), 0.0)
    writer(RunStarted("another", "2026-03-02T09:15:00.000Z", other, (FIRST,)))
    writer.close()
    record = read_record(folder)
    assert record.run.stages == ()
    assert record.condition.foreign == (
        RecordReason.OTHER_RUN(file="journal.csv", run_id=streams.RUN_ID),
        RecordReason.UNKNOWN_STAGE(file="readings.csv", stages=(SECOND,)),
        RecordReason.UNKNOWN_STAGE(file="samples.csv", stages=(SECOND,)),
    )


@pytest.mark.parametrize("name", ["readings.csv", "samples.csv", "journal.csv"])
def test_a_missing_file_is_missing_and_nothing_else(copy: Path, name: str) -> None:
    (copy / name).unlink()
    condition = read_record(copy).condition
    assert condition.missing == (RecordReason.FILE_MISSING(file=name),)
    assert condition.cut_short
    assert condition.flaws == condition.missing


COUNTS: dict[str, Callable[[Record], int]] = {
    "readings.csv": lambda record: len(record.all_readings),
    "samples.csv": lambda record: len(list(record.samples())),
    "journal.csv": lambda record: len(record.journal),
}


@pytest.mark.parametrize("name", [*COUNTS, "not_read.csv"])
def test_a_table_cut_at_any_byte_loses_at_most_its_last_line(
    copy: Path, name: str
) -> None:
    path = copy / name
    raw = path.read_bytes()
    lines = raw.count(b"\n") - 1
    for cut in range(len(raw) - 1, max(0, len(raw) - 400), -1):
        path.write_bytes(raw[:cut])
        record = read_record(copy)
        if count := COUNTS.get(name):
            assert count(record) == max(0, lines - raw[cut:].count(b"\n"))
        condition = record.condition
        assert condition.damaged == condition.foreign == condition.missing == ()
        assert bool(condition.torn) == (raw[cut - 1 : cut] != b"\n") == condition.cut_short


@pytest.mark.parametrize(
    ("name", "old", "new"),
    [
        ("readings.csv", b",fail,yes", b",fails,yes"),
        ("readings.csv", b",unsure,", b",maybe,"),
        ("readings.csv", b",-3,3,", b",3,-3,"),
        ("readings.csv", b"test_too_dim,", b","),
        ("samples.csv", b",0.5,300,", b",0.5,3oo,"),
        ("journal.csv", b'"{""', b'"[""'),
        ("journal.csv", b"2-link,", b"2-link,]"),
        ("not_read.csv", b'"{""light_lx""', b'"[""light_lx""'),
    ],
)
def test_a_line_that_cannot_be_understood_is_named_and_left_out(
    copy: Path, name: str, old: bytes, new: bytes
) -> None:
    path = copy / name
    raw = path.read_bytes()
    number = raw[: raw.index(old)].count(b"\n") + 1
    path.write_bytes(raw.replace(old, new, 1))
    condition = read_record(copy).condition
    damage = RecordReason.LINES_DAMAGED(file=name, lines_count=1, lines=(number,))
    # A line that has too many cells is no part of the chain: the next one tells.
    line = number + 1 if b"]" in new and b'"' not in new else number
    broken = RecordReason.CHAIN_BROKEN(file=name, line=line)
    assert condition.damaged == (damage,)
    assert condition.edited == (broken,)
    assert set(condition.flaws) - {damage, broken} == set(condition.disagrees)
    assert bool(condition.disagrees) == (name == "journal.csv")


def test_a_table_of_another_kind_is_foreign(copy: Path) -> None:
    shutil.copy(copy / "journal.csv", copy / "samples.csv")
    [flaw] = read_record(copy).condition.foreign
    assert flaw.means(RecordReason.OTHER_COLUMNS)
    assert flaw["file"] == "samples.csv"


def test_tables_of_an_older_format_are_foreign_to_a_new_run(copy: Path, data: Path) -> None:
    shutil.copy(data / "format_1_records" / "passed" / "readings.csv", copy / "readings.csv")
    record = read_record(copy)
    assert record.all_readings == ()
    [flaw] = record.condition.foreign
    assert flaw["file"] == "readings.csv"


def test_files_of_another_run_are_foreign(copy: Path, tmp_path: Path) -> None:
    start = streams.stream()[0]
    assert isinstance(start, RunStarted)
    other = streams.write(tmp_path / "o", [replace(start, run_id="other"), *streams.stream()[1:]])
    shutil.copy(other / "journal.csv", copy / "journal.csv")
    flaw = RecordReason.OTHER_RUN(file="journal.csv", run_id="other")
    assert read_record(copy).condition.foreign == (flaw,)


def test_a_run_id_that_is_none_at_all_is_foreign(copy: Path) -> None:
    text = (copy / "journal.csv").read_text("utf-8")
    run_id = read_record(copy).run.run_id
    assert f'""{run_id}""' in text
    (copy / "journal.csv").write_text(text.replace(f'""{run_id}""', "{}"), "utf-8")
    assert any(f.means(RecordReason.OTHER_RUN) for f in read_record(copy).condition.foreign)


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        (None, r"holds no run\.json"),
        ("", "not JSON"),
        ("{", "not JSON"),
        ("[]", "one JSON object"),
        ("[" * 100_000, "not JSON"),
        ("{}", "format is None"),
        ('{"format": 3}', "reads formats 1 to 2"),
        ('{"format": true}', "format is True"),
        ('{"format": 2}', "run_id"),
    ],
)
def test_a_run_json_that_is_none_is_refused(
    tmp_path: Path, text: str | None, complaint: str
) -> None:
    if text is not None:
        (tmp_path / "run.json").write_text(text)
    with refused(RecordError, match=complaint):
        read_record(tmp_path)


def test_a_run_that_was_cut_before_its_record_began_is_told_from_a_wrong_folder(
    tmp_path: Path,
) -> None:
    (tmp_path / "run.json.new").write_text("{")
    with refused(RecordError, match="cut short before its record began"):
        read_record(tmp_path)


def test_a_wrong_word_in_run_json_is_refused_with_its_place(copy: Path) -> None:
    content = json.loads((copy / "run.json").read_text())
    content["stages"][1]["verdict"] = "passed"
    (copy / "run.json").write_text(json.dumps(content))
    with refused(RecordError, match=r"stages\.1\.verdict"):
        read_record(copy)


def all_of(record: Record) -> int:
    """Ask a record for everything that it can tell; how much it told."""
    assert len(list(record.samples())) == len(record.series.elapsed_s)
    parts = (record.condition.flaws, record.readings, record.failing_words, record.untyped)
    meanings = [(entry.note(), entry.reasons(), entry.traffic()) for entry in record.journal]
    return sum(map(len, parts)) + len(meanings) + len(record.traffic) + int(record.last_elapsed_s)


NAMES = st.sampled_from(["run.json", *TABLES])


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=150)
@given(NAMES, st.binary(max_size=200), st.data())
@pytest.mark.parametrize("source", ["new", "old"])
def test_any_bytes_anywhere_end_in_a_record_or_a_record_error(
    folder: Path, data: Path, tmp_path: Path, source: str, name: str, junk: bytes,
    draw: st.DataObject,
) -> None:
    target = tmp_path / source
    shutil.rmtree(target, ignore_errors=True)
    shutil.copytree(folder if source == "new" else data / "format_1_records" / "failed", target)
    path = target / name
    raw = path.read_bytes() if path.exists() else b""
    first = draw.draw(st.integers(0, len(raw)))
    last = draw.draw(st.integers(first, min(len(raw), first + 300)))
    path.write_bytes(raw[:first] + junk + raw[last:])
    with contextlib.suppress(RecordError):
        all_of(read_record(target))


def test_numbers_of_every_telemetry_column_are_in_the_series(folder: Path) -> None:
    series = read_record(folder).series
    assert set(TELEMETRY_NAMES) - set(series.columns) == {"throttle_reasons"}
    assert series.columns["hotspot_temp_c"] == (None, 55.5, None)
    assert series.stages == (SECOND,) * 3


def test_a_band_and_the_causes_of_a_stop_come_back_as_they_were_told(folder: Path) -> None:
    record = read_record(folder)
    [forecast], [trip] = record.events("ForecastMade"), record.events("GuardTripped")
    [warning], [over] = record.events("WarningGiven"), record.events("WarningOver")
    assert forecast.foreseen() == streams.BAND
    assert trip.likely() == streams.LIKELY
    assert (warning.cause("cause"), warning.check()) == (
        streams.SomeCause.DUST(),
        streams.SomeCheck.WIPE(),
    )
    assert warning.note("warning") == streams.SomeNote.LAMP_ON(light_lx=7.0)
    assert over.note("why") == streams.SomeNote.LAMP_ON(light_lx=8.0)


def test_a_line_that_is_older_or_made_up_tells_no_band_and_no_causes() -> None:
    for told in ({}, {"band": 3, "likely": {}}, {"band": [{"ahead_s": 1.0}], "likely": [{}, 7]}):
        entry = JournalEntry(1.0, "", "ForecastMade", "", told)
        assert (entry.foreseen(), entry.likely()) == ((), ())
