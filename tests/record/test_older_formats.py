"""Records of format 1 are read as they were then, reading by reading.

`as_read_then.json` is what the reader of that time gave for each record of tests/data/records and
tests/data/format_1_records. Of the latter, `passed`, `failed`, `aborted`, `card_lost`,
`conditional`, `cut_short` (killed, its files torn) and `resumed` (the same, gone on with) are short
runs on the simulated machine; `hand_made_…` are what tests of sheets wrote at that time.
"""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from burnin.core.errors import RecordError
from burnin.core.meaning import Meaning, Reason, Source
from burnin.core.verdict import OwedWhat, VerdictReason
from burnin.record.format_1 import words
from burnin.record.format_1.words import Typing
from burnin.record.reader import read_record
from burnin.record.reasons import RecordReason
from tests.record import streams
from tests.refusals import refused

HERE = Path(__file__).parents[1] / "data"
THEN: dict[str, Any] = json.loads((HERE / "format_1_records" / "as_read_then.json").read_text())
NAMES = sorted(THEN)
OLD_WORDS = RecordReason.WORDS_OF_FORMAT_1
SYSFS = Source(OLD_WORDS.value, (("words", "sysfs"),))


def folder_of(name: str) -> Path:
    place = "records" if name.startswith("compute_card") else "format_1_records"
    return HERE / place / name


NEWER = {"compute_card_whole"}
"""Records that were written in today's format."""


def test_every_old_record_is_compared() -> None:
    there = {p.name for place in ("records", "format_1_records") for p in (HERE / place).iterdir()}
    assert there - {"as_read_then.json"} - NEWER == set(THEN)
    assert len(THEN) == 15


@pytest.mark.parametrize("name", NAMES)
def test_verdicts_are_those_of_then(name: str) -> None:
    record, then = read_record(folder_of(name)), THEN[name]
    assert record.format_read == 1
    assert record.run.verdict.value == then["verdict"]
    assert record.run.ended.value == then["ended"]
    assert [[s.stage, s.verdict.value] for s in record.run.stages] == [
        [stage, verdict] for stage, verdict, _ in then["stages"]
    ]
    assert [work.stage for work in record.run.owed] == [stage for stage, _ in then["owed"]]


@pytest.mark.parametrize("name", NAMES)
def test_readings_are_those_of_then(name: str) -> None:
    record, then = read_record(folder_of(name)), THEN[name]
    told = [
        [
            reading.stage,
            reading.name,
            reading.verdict.value if reading.verdict else "",
            reading.required,
            words_in(reading.reason),
            words_in(reading.source),
            reading.uncertainty,
            reading.limit.lower if reading.limit else None,
            reading.limit.upper if reading.limit else None,
            list(reading.allowed),
        ]
        for reading in record.all_readings
    ]
    assert told == then["all_readings"]
    assert len(told) > 5
    for reading, (stage, title, value, verdict) in zip(
        record.readings, then["readings"], strict=True
    ):
        assert (reading.stage, reading.name) == (stage, title)
        assert (reading.verdict.value if reading.verdict else "") == verdict
        if isinstance(reading.value, float):
            assert reading.value == float(value)
        else:
            assert (reading.value or "") == value


def words_in(meaning: Meaning | None) -> str:
    """The sentence that format 1 held, from what it was typed as."""
    if meaning is None:
        return ""
    if meaning.means(OLD_WORDS):
        return str(meaning["words"])
    known = {code: text for text, code in words._KNOWN.items()}
    if meaning.code in known:
        return known[meaning.code]
    for beginning, (code, datum) in words._BEGINNINGS.items():
        if meaning.code == code:
            inner = meaning[datum]
            assert isinstance(inner, Meaning)
            return beginning + words_in(inner)
    raise AssertionError(f"no words for {meaning}")


@pytest.mark.parametrize("name", NAMES)
def test_samples_journal_and_condition_are_those_of_then(name: str) -> None:
    record, then = read_record(folder_of(name)), THEN[name]
    assert len(list(record.samples())) == then["samples"]
    journal = [
        "Noted" if entry.event == "TrafficSummed" else entry.event for entry in record.journal
    ]
    assert journal == then["journal"]
    assert len(record.failing_words) == then["failing_words"]
    condition = record.condition
    assert condition.cut_short == then["cut_short"]
    assert [flaw["file"] for flaw in condition.edited] == then["altered"] == []
    assert condition.foreign == condition.damaged == ()
    assert bool(condition.torn) == (name in ("cut_short", "resumed", "hand_made_power_cut"))


@pytest.mark.parametrize("name", NAMES)
def test_what_stays_words_is_listed_by_place(name: str) -> None:
    record = read_record(folder_of(name))
    reasons = [r for r in record.all_readings if r.reason and OLD_WORDS.value in str(r.reason)]
    listed = [place for place in record.untyped if place.endswith(" reason")]
    assert len([p for p in listed if p.startswith("readings.csv line ")]) == len(reasons)
    files = {place.split()[0] for place in record.untyped}
    assert files
    assert files <= {"run.json", "readings.csv", "journal.csv"}


def test_traffic_and_both_ends_are_typed() -> None:
    record = read_record(folder_of("compute_card_link_errors"))
    sums = record.traffic["7-link"]
    assert sums.to_card_bytes == 10699233296384
    assert sums.errors["card LCRC error"] == 3
    assert sums.counters_missing is None
    notes = [n for e in record.events("Noted") if e.stage == "7-link" and (n := e.note())]
    [both] = [note for note in notes if note.code == "link_both_ends"]
    end = both["card"]
    assert isinstance(end, Meaning)
    assert end.code == "link_end"
    assert end["widths_seen_lanes"] == (16,)
    assert both["port"] is None
    [counters] = [note for note in notes if note.code == "link_counters"]
    assert Meaning("link_counter", (("counter", "card bad TLP"), ("increase", 3))) in list(
        counters.parts()
    )


@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("passed", VerdictReason.ALL_STAGES_PASSED),
        ("resumed", VerdictReason.ALL_STAGES_PASSED),
        ("failed", VerdictReason.STAGES_FAILED),
        ("conditional", VerdictReason.STILL_OWED),
        ("aborted", VerdictReason.LOAD_ENDED),
        ("card_lost", VerdictReason.LOAD_ENDED),
        ("cut_short", VerdictReason.NOT_AT_ITS_END),
        ("compute_card_cuda", VerdictReason.STILL_OWED),
    ],
)
def test_a_reason_made_by_rule_has_its_code(name: str, code: VerdictReason) -> None:
    assert read_record(folder_of(name)).run.reason.means(code)


def test_a_card_that_left_the_bus_is_typed_as_such() -> None:
    run = read_record(folder_of("card_lost")).run
    assert "guard_card_gone" in [part.code for part in run.reason.parts()]
    gone = Reason("guard_card_gone")
    assert run.stages[1].reasons == (gone,)
    assert run.stages[2].reasons == (Reason("run_not_reached", (("reason", gone),)),)


def test_owed_work_names_its_stage_and_reading() -> None:
    run = read_record(folder_of("compute_card_cuda")).run
    assert [work.what for work in run.owed] == [
        OwedWhat.READING(stage=Meaning("stage_link"), reading="new_link_errors"),
        OwedWhat.READING(stage=Meaning("stage_thermal_ramp"), reading="drift_k"),
    ]
    [left_out] = read_record(folder_of("conditional")).run.owed
    assert left_out.what == OwedWhat.STAGE(stage=Meaning("stage_compute"))
    assert left_out.reason == Reason("run_left_out_by_hand")


def test_titles_of_the_profile_are_told_from_those_of_the_kind() -> None:
    stages = read_record(folder_of("passed")).run.stages
    assert [stage.own_title for stage in stages] == ["", "", "Link at the bench", "", ""]
    assert read_record(folder_of("passed")).run.simulated_scenario == "healthy"


@pytest.mark.parametrize(
    ("text", "meaning"),
    [
        ("from run 7: sysfs", Source("proven_from_run", (("run", "7"), ("source", SYSFS)))),
        ("from run 7", Source("proven_from_run_alone", (("run", "7"),))),
        ("sysfs", SYSFS),
    ],
)
def test_a_source_that_names_another_run_is_typed(text: str, meaning: Source) -> None:
    assert Source.from_plain(Typing([]).source(text, "here")) == meaning


def test_every_code_given_to_old_words_is_one_of_today() -> None:
    """A code that its room no longer has would be told as a bare code."""
    from burnin.report.languages.catalogue import catalogue

    given = {*words._KNOWN.values(), *(code for code, _ in words._BEGINNINGS.values())}
    given |= {"run_nobody_answered", "proven_from_run", "proven_from_run_alone", OLD_WORDS.value}
    given |= {"link_both_ends", "link_end", "link_counters", "link_counter"}
    given |= {f"stage_{kind}" for kind in ("link", "memory", "display", "thermal_ramp")}
    for language in ("en", "de"):
        assert [code for code in sorted(given) if not catalogue(language).knows(code)] == []


def test_a_prompt_that_nobody_answered_keeps_its_seconds() -> None:
    typed = Typing([]).reason("asked, and nobody answered within 120 s", "here")
    assert typed == {"code": "run_nobody_answered", "waited_s": 120.0}


def test_the_old_tables_are_not_written_on(tmp_path: Path) -> None:
    folder = tmp_path / "r"
    shutil.copytree(folder_of("cut_short"), folder)
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    with refused(RecordError, match="other columns"):
        streams.write(folder)
    assert {name: (folder / name).read_bytes() for name in before} == before
