from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from burnin.core.errors import RecordError
from burnin.diagnosis.evidence import generation_of, read_evidence
from burnin.diagnosis.explain import explain
from burnin.record.writer import JOURNAL_COLUMNS, READING_COLUMNS

HEAD = ",".join(READING_COLUMNS) + "\n"


def record(folder: Path, both: Any, counters: Any = None, width: str = "8") -> Path:
    """A record with one link stage, its journal lines as given."""
    facts = {"format": 1, "card": {}, "stages": [{"stage": "3-link", "kind": "link"}]}
    (folder / "run.json").write_text(json.dumps(facts), "utf-8")
    lines = [
        f",,3-link,link_width_lanes,{width},lanes,0,16,16,,fail,yes,,",
        ",,3-link,link_speed_gts,16,GT/s,0,16,16,,pass,yes,,",
    ]
    (folder / "readings.csv").write_text(HEAD + "\n".join(lines) + "\n", "utf-8")
    rows = [",".join(JOURNAL_COLUMNS)]
    for text, detail in (
        ("link, both ends", both), ("error counters, differences", {"errors": counters}),
    ):  # fmt: skip
        told = json.dumps({"stage": "3-link", "text": text, "detail": detail}).replace('"', '""')
        rows.append(f'1,,Noted,3-link,"{told}"')
    (folder / "journal.csv").write_text("\n".join(rows) + "\n", "utf-8")
    return folder


def end(**changes: Any) -> dict[str, Any]:
    return {
        "max_width_lanes": 16, "max_speed_gts": 16.0, "speeds_seen_gts": [16.0],
        "lane_errors_after": [],
    } | changes  # fmt: skip


def test_both_ends_are_read(tmp_path: Path) -> None:
    both = {
        "card": end(lane_errors_after=[3], speeds_seen_gts=[16.0, 8.0]),
        "port": end(bandwidth_managed_after=True, target_speed_gts=8.0),
    }
    counters = {"card bad TLP": 5, "card bad DLLP": 1, "port receiver error": 2}
    (look,) = read_evidence(record(tmp_path, both, counters)).looks
    assert (look.width, look.generation, look.top_generation) == (8, 4, 4)
    assert look.errors == (6, 2)
    assert look.lanes == (frozenset({3}), frozenset())
    assert (look.managed, look.target_generation) == (True, 3)


def test_what_the_slot_offers_less_is_named(tmp_path: Path) -> None:
    both = {"card": end(), "port": end(max_width_lanes=8)}
    (look,) = read_evidence(record(tmp_path, both)).looks
    assert look.most_width == 8
    assert look.offers == "the card offers 16 lanes, the slot 8"


def test_what_is_not_there_is_not_guessed(tmp_path: Path) -> None:
    (look,) = read_evidence(record(tmp_path, {}, {}, width="")).looks
    assert (look.width, look.errors, look.lanes) == (None, (None, None), (None, None))
    assert (look.managed, look.target_generation) == (None, None)


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3)
    | st.dictionaries(
        st.sampled_from(["card", "port", "max_width_lanes", "lane_errors_after", "x"]), inner,
        max_size=3,
    ),
    max_leaves=8,
)


@settings(
    deadline=None, max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(both=st.dictionaries(st.sampled_from(["card", "port"]), json_values), counters=json_values)
def test_a_damaged_journal_never_ends_in_a_traceback(
    both: Any, counters: Any, tmp_path: Path
) -> None:
    folder = record(tmp_path, both, counters)
    try:
        text = explain(folder, [], False)
    except RecordError:
        return
    assert text


def test_run_json_of_the_wrong_shape_is_refused(tmp_path: Path) -> None:
    (tmp_path / "run.json").write_text('{"format": 1, "stages": ["3-link"]}', "utf-8")
    with pytest.raises(RecordError, match="stages holds no tables"):
        read_evidence(tmp_path)


@pytest.mark.parametrize(
    ("speed", "generation"),
    # PCI Express Base Specification, 1.2: rates of generations 1 to 6.
    [(2.5, 1), (5.0, 2), (8.0, 3), (16.0, 4), (32.0, 5), (64.0, 6), (7.0, None), (None, None)],
)
def test_generation_of_a_rate(speed: float | None, generation: int | None) -> None:
    assert generation_of(speed) == generation
