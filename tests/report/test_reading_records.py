"""A record is read as far as it is whole, and never further."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.core.errors import RecordError
from burnin.record.reader import read_record
from burnin.report.languages.catalogue import catalogue
from burnin.report.sheet.content import compose
from tests.refusals import refused
from tests.report import records

WORDS = catalogue("en")


def test_a_folder_without_run_json_is_refused_in_plain_words(tmp_path: Path) -> None:
    with refused(RecordError, match=r"holds no run\.json"):
        read_record(tmp_path)


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        ("", "not JSON"),
        ("{", "not JSON"),
        ("[]", "one JSON object"),
        ('{"format": 99}', "reads formats 1 to"),
        ("[" * 100_000, "not JSON"),
    ],
)
def test_a_run_json_that_is_none_is_refused(tmp_path: Path, text: str, complaint: str) -> None:
    (tmp_path / "run.json").write_text(text)
    with refused(RecordError, match=complaint):
        read_record(tmp_path)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(["stage", "verdict", "name", "not_measured", "started_s", "title"]),
            inner,
            max_size=4,
        )
    ),
    max_leaves=12,
)
KEYS = st.sampled_from(
    ["card", "engine", "profile", "ticket", "stages", "owed", "guards", "bench", "tool", "verdict"]
)


@given(st.dictionaries(KEYS, JSON, max_size=8))
def test_wrong_types_in_run_json_never_make_a_pass(
    tmp_path_factory: pytest.TempPathFactory, facts: dict[str, object]
) -> None:
    folder = tmp_path_factory.mktemp("record")
    (folder / "run.json").write_text(json.dumps({**facts, "format": 1}))
    try:
        record = read_record(folder)
    except RecordError:
        return
    assert compose(record, WORDS).verdict != "pass"


def test_a_power_cut_names_the_stage_it_hit_and_those_that_never_ran(tmp_path: Path) -> None:
    content = compose(read_record(records.power_cut(tmp_path / "r")), WORDS)
    marks = [(stage.number, stage.mark.word) for stage in content.stages]
    assert marks == [
        ("1", "PASS"),
        ("2", "PASS"),
        ("3", "PASS"),
        ("4", "NOT FINISHED"),
        ("5", "NOT TESTED"),
        ("6", "NOT TESTED"),
        ("7", "NOT TESTED"),
    ]
    assert content.verdict == "incomplete"
    assert len(content.flaws) == 3


def test_a_repeated_stage_is_judged_by_its_last_reading_but_no_failure_is_hidden(
    tmp_path: Path,
) -> None:
    draft = records.passed()
    earlier = draft.readings[5]
    draft.readings.insert(0, {**earlier, "value": "", "verdict": "not measured", "reason": "cut"})
    draft.readings.insert(0, {**earlier, "value": "none", "verdict": "fail", "reason": "was dark"})
    record = read_record(draft.write(tmp_path / "r"))
    of_same_name = [row.verdict for row in record.readings if row.name == earlier["reading"]]
    assert of_same_name == ["fail", None]


def test_a_file_changed_after_the_run_is_noticed(tmp_path: Path) -> None:
    folder = records.passed().write(tmp_path / "r")
    assert read_record(folder).condition.edited == ()
    changed = (folder / "readings.csv").read_text().replace("287.4", "187.4")
    (folder / "readings.csv").write_text(changed)
    (flaw,) = read_record(folder).condition.edited
    assert flaw["file"] == "readings.csv"
