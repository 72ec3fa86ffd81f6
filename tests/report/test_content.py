"""What the sheet says follows from the record, and PASS only from one that bears it out."""

from __future__ import annotations

import doctest
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.core.reading import Limit, Reading
from burnin.record.reader import read_record
from burnin.report.languages import plain_names
from burnin.report.languages.catalogue import catalogue
from burnin.report.languages.moments import run_time
from burnin.report.languages.one_line import one_line
from burnin.report.languages.values import limit_text, value_text
from burnin.report.sheet.content import SheetContent, compose
from burnin.report.sheet.never_tested import never_tested
from burnin.run.reasons import RunReason
from tests.report import records
from tests.report.records import Draft

WORDS = catalogue("en")


def content_of(draft: Draft, tmp_path: Path) -> SheetContent:
    return compose(read_record(draft.write(tmp_path / "record")), WORDS)


def all_gaps(content: SheetContent) -> str:
    lines = (f"{p.what}: {p.reason}" for group in content.open_groups for p in group.points)
    return "\n".join(lines)


@pytest.mark.parametrize(
    ("draft", "word"),
    [
        (records.passed, "PASS"),
        (records.failed, "FAIL"),
        (records.aborted, "STOPPED BY A GUARD"),
        (records.conditional, "CONDITIONAL"),
    ],
)
def test_each_verdict_has_its_word(draft: Callable[[], Draft], word: str, tmp_path: Path) -> None:
    content = content_of(draft(), tmp_path)
    assert content.outcome.word == f"SIMULATED {word}"
    assert content.reason == draft().facts["reason"]


def _fails_a_reading(draft: Draft) -> None:
    draft.readings[0] |= {"verdict": "fail", "reason": "another card"}


def _misses_a_reading(draft: Draft) -> None:
    draft.readings[0] |= {"value": "", "verdict": "not measured", "reason": "unreadable"}


def _is_unsure(draft: Draft) -> None:
    draft.readings[0] |= {"verdict": "unsure"}


def _owes(draft: Draft) -> None:
    draft.owes("cold start", "no time")


def _left_a_stage(draft: Draft) -> None:
    draft.facts["stages"][2]["verdict"] = "not measured"


def _never_started_a_stage(draft: Draft) -> None:
    del draft.facts["stages"][6]
    draft.journal = [row for row in draft.journal if row["stage"] != "7-link"]
    draft.samples = [row for row in draft.samples if row["stage"] != "7-link"]


def _found_wrong_words(draft: Draft) -> None:
    draft.failing_words = records.failed().failing_words


def _measured_nothing(draft: Draft) -> None:
    draft.readings = []


def _was_stopped(draft: Draft) -> None:
    draft.event(500.0, "GuardTripped", "6-thermal_ramp", guard="limit", signal="gpu_temp_c")


@pytest.mark.parametrize(
    ("spoil", "told"),
    [
        (_fails_a_reading, "1 required readings did not pass"),
        (_misses_a_reading, "1 required readings did not pass"),
        (_is_unsure, "1 required readings did not pass"),
        (_owes, "something is owed"),
        (_left_a_stage, "Connection to the computer"),
        (_never_started_a_stage, "Connection to the computer"),
        (_found_wrong_words, "memory read back wrong"),
        (_measured_nothing, "no reading that passed"),
        (_was_stopped, "a guard ended the load"),
    ],
)
def test_a_record_that_says_pass_against_its_own_data_is_not_printed_as_pass(
    spoil: Callable[[Draft], None], told: str, tmp_path: Path
) -> None:
    draft = records.passed()
    spoil(draft)
    content = content_of(draft, tmp_path)
    assert content.outcome.word == "SIMULATED INCOMPLETE"
    assert told in content.reason


def test_pass_is_not_printed_over_an_altered_or_torn_record(tmp_path: Path) -> None:
    folder = records.passed().write(tmp_path / "r")
    whole = (folder / "samples.csv").read_bytes()
    (folder / "samples.csv").write_bytes(whole[:-30])
    content = compose(read_record(folder), WORDS)
    assert content.outcome.word == "SIMULATED INCOMPLETE"
    assert "samples.csv" in content.reason


def test_a_resumed_run_may_pass_after_an_earlier_stop_and_tells_of_it(tmp_path: Path) -> None:
    draft = records.passed()
    names = [name for name, *_ in records.STAGES]
    stop = records.aborted().journal[-1]
    draft.journal[0:0] = [stop]
    draft.event(0.0, "RunStarted", stages=names)
    content = content_of(draft, tmp_path)
    assert content.outcome.word == "SIMULATED PASS"
    assert "earlier attempt" in content.guards[0].opening


def test_an_optional_reading_that_is_missing_spoils_no_pass_and_is_named(tmp_path: Path) -> None:
    content = content_of(records.passed(), tmp_path)
    assert content.outcome.word == "SIMULATED PASS"
    assert "Hot-spot temperature, highest (°C) [6]: the driver offers no hot-spot" in all_gaps(
        content
    )


def test_everything_that_was_not_measured_is_named_with_its_reason(tmp_path: Path) -> None:
    gaps = all_gaps(content_of(records.conditional(), tmp_path))
    for words in (
        "Screen outputs: Screen noticed, DP-3: no monitor at hand for this output",
        "Screen noticed, HDMI-A-1 [2]: nobody moved the cable",
        "GPU temperature, highest (°C) [6]: the limit lies inside",
        "Heat soak with the customer's own loop: the loop is at the customer's place",
        "Serial number, Unique number: the driver does not tell it",
        "Fan setting (%): no value in any sample of this run",
    ):
        assert words in gaps
    assert "fan 2" not in gaps  # the card counts no further fan


def test_what_failed_is_listed_first(tmp_path: Path) -> None:
    lines = content_of(records.failed(), tmp_path).readings
    assert [line.title for line in lines if line.mark.word == "FAIL"] == [lines[0].title]
    assert lines[0].title == "Memory words that read back wrong"


def test_an_owed_reading_is_named_once(tmp_path: Path) -> None:
    assert all_gaps(content_of(records.conditional(), tmp_path)).count("DP-3") == 1


def test_the_guard_note_tells_what_was_seen_what_was_allowed_and_what_to_check(
    tmp_path: Path,
) -> None:
    (note,) = content_of(records.aborted(), tmp_path).guards
    told = {fact.label: fact.value for fact in note.facts}
    assert told["Seen"] == "84\u00a0°C"
    assert told["Limit"] == "90\u00a0°C"
    assert told["During"] == "6 Heat under rising load"
    assert "coolant" in told["Suspected"]
    assert "pump connector" in told["To check"]


def test_software_that_works_no_card_says_so(tmp_path: Path) -> None:
    draft = records.passed()
    draft.facts |= {"simulated": False, "simulated_scenario": "", "card": None}
    draft.facts["options"] = {}
    draft.facts["engine"]["simulated"] = False
    draft.facts["card_absent"] = RunReason.NOTHING_ENUMERATED()
    draft.facts["engine"] |= {"works_card": False}
    content = content_of(draft, tmp_path)
    assert [banner.split(" — ")[0] for banner in content.banners] == ["SOFTWARE ENGINE"]
    assert content.card[0].value == WORDS.say(RunReason.NOTHING_ENUMERATED())


def test_a_real_card_at_work_needs_no_banner(tmp_path: Path) -> None:
    draft = records.passed()
    draft.facts |= {"simulated": False, "simulated_scenario": "", "options": {}}
    draft.facts["card"]["simulated"] = draft.facts["engine"]["simulated"] = False
    content = content_of(draft, tmp_path)
    assert content.banners == ()
    assert content.outcome.word == "PASS"


def test_the_fingerprint_is_the_readings_own(tmp_path: Path) -> None:
    folder = records.passed().write(tmp_path / "r")
    listed = (folder / "checksums.sha256").read_text()
    assert f"{compose(read_record(folder), WORDS).fingerprint}  readings.csv" in listed


def reading(value: float, unit: str = "", uncertainty: float = 0.0, **limits: float) -> Reading:
    limit = Limit(limits.get("lower"), limits.get("upper"))
    return Reading("some", value, unit, uncertainty, limit)


# JCGM 100:2008, 7.2.6: at most two figures of an uncertainty, rounded up where that is sensible,
# and the value to the same place; H.1.6 there quotes 50.000 838 mm with u = 32 nm that way.
@pytest.mark.parametrize(
    ("value", "uncertainty", "shown"),
    [
        (71, 0.57735, "71.0 ± 0.6 °C"),
        (71, 0.12, "71.00 ± 0.12 °C"),
        (287.44, 2.874, "287.4 ± 2.9 °C"),
        (691.2, 41.0, "691 ± 41 °C"),
        (0.0213, 0.00301, "0.021 ± 0.004 °C"),
        (1234567, 0.0, "1\u202f234\u202f567 °C"),
    ],
)
def test_a_value_shows_as_many_figures_as_its_uncertainty_bears(
    value: float, uncertainty: float, shown: str
) -> None:
    told = value_text(reading(value, "°C", uncertainty), WORDS)
    assert told.replace("\u00a0", " ") == shown


def test_limits_are_shown_with_their_direction() -> None:
    def shown(**limits: float) -> str:
        told = limit_text(reading(1.0, "lanes", **limits), WORDS)
        return told.replace("\u00a0", " ")

    assert shown(lower=16.0, upper=16.0) == "= 16 lanes"
    assert shown(lower=8.0) == "≥ 8 lanes"
    assert shown(lower=1.0, upper=2.5) == "≥ 1 lanes and ≤ 2.5 lanes"
    assert shown() == ""


def test_times_are_written_out() -> None:
    assert WORDS.moment("2026-03-02T09:15:00.000Z") == "2 March 2026, 09:15 UTC"
    assert WORDS.moment("2026-03-02T10:15:00+01:00") == "2 March 2026, 09:15 UTC"
    assert run_time(59.6) == "1 min 00 s"
    assert run_time(3900) == "1 h 05 min"


@given(st.from_regex(r"[a-z]{1,8}(_[a-z0-9]{1,8}){0,4}( [A-Z]+-[0-9])?", fullmatch=True))
def test_no_reading_reaches_paper_with_its_inner_name(name: str) -> None:
    title = WORDS.reading(name, unit=True)
    assert title
    assert "_" not in title
    assert title[0] == title[0].upper()


def test_the_examples_of_titles_hold() -> None:
    result = doctest.testmod(plain_names)
    assert (result.failed, result.attempted) == (0, 1)


def test_a_name_without_an_entry_is_made_readable() -> None:
    assert WORDS.reading("pcie_replay_max_ms", unit=True) == "PCIe replay highest (ms)"
    assert WORDS.reading("edid DP-1") == f"{WORDS.reading('edid')}, DP-1"
    assert WORDS.reading("edid DP-1") == "Screen's own description (EDID), DP-1"


@given(st.text(max_size=300), st.integers(2, 60))
def test_text_becomes_one_short_line_that_cannot_turn_the_page_round(text: str, most: int) -> None:
    line = one_line(text, most)
    assert len(line) <= most
    assert not re.search("[\x00-\x1f\x7f\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufffe\uffff]", line)
    line.encode()


def test_a_sheet_names_what_no_stage_works_and_a_picture_only_while_nobody_saw_it(
    tmp_path: Path,
) -> None:
    def named(draft: records.Draft, folder: str) -> str:
        record = read_record(draft.write(tmp_path / folder))
        return " ".join(catalogue("en").say(part) for part in never_tested(record))

    assert "how a picture looks" in named(records.passed(), "unseen")
    seen = records.passed()
    seen.reading("6-under_load", "picture_clean DP-1", "yes", verdict="pass")
    assert "how a picture looks" not in named(seen, "seen")
    assert "sound over the screen outputs" in named(records.passed(), "again")
