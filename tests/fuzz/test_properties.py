"""Whatever a file holds, a reader gives what it reads or an error of ours: values drawn at will.

The fuzzer changes files that are good; here nothing is good but the format.
"""

from __future__ import annotations

import json
from contextlib import suppress
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from burnin.core.errors import BadInput, BurninError
from burnin.core.files.bounded import read_at_most
from burnin.core.plain import finite
from burnin.record.schema.tables import JOURNAL, READINGS, SAMPLES, TABLES, columns
from tests.fuzz.formats import toml_bytes
from tests.fuzz.target import Files
from tests.fuzz.targets import target
from tests.fuzz.targets.logs import EVENTS, STORY
from tests.fuzz.targets.records import SEAL
from tests.refusals import refused

few = settings(max_examples=15, suppress_health_check=list(HealthCheck))

SCALARS = (
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=20)
    | st.sampled_from(["2026-03-10", "9999-12-31T23:59:59-23:59", "B14", "desktop_air", "pass"])
)
VALUES = st.recursive(
    SCALARS,
    lambda inner: (
        st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4)
    ),
    max_leaves=12,
)
KEYS = {
    "profile": ("schema", "title", "stages", "guards", "owed", "before_power", "cooling"),
    "scenario": ("name", "title", "card", "bench", "causes"),
    "shop_file": ("name", "address", "logo", "languages", "warranty", "meter", "time_zone"),
    "language": ("says", "readings", "words", "units", "format", "sheet", "showed"),
}
FILES = {"profile": "p.toml", "scenario": "s.toml", "shop_file": "shop.toml"}


def tried(name: str, files: Files) -> None:
    """A target's reader over these files, laid in a room of their own."""
    chosen = target(name)
    with TemporaryDirectory() as place:
        room = Path(place)
        if chosen.in_room:
            for file, content in files.items():
                (room / file).parent.mkdir(parents=True, exist_ok=True)
                (room / file).write_bytes(content)
        with suppress(BurninError):
            chosen.read(room, files)


@pytest.mark.parametrize("name", list(KEYS))
def test_any_values_under_known_keys(name: str) -> None:
    tables = st.dictionaries(st.sampled_from(KEYS[name]), VALUES, max_size=6)

    @few
    @given(tables)
    def holds(content: dict[str, Any]) -> None:
        tried(name, {FILES.get(name, "w.xx.toml"): toml_bytes(content)})

    holds()


@few
@given(st.lists(st.sampled_from(STORY), max_size=6), st.data())
def test_any_fields_in_a_ticket(events: list[dict[str, Any]], data: st.DataObject) -> None:
    drawn = [
        {**event, "fields": {name: data.draw(VALUES) for name in event["fields"]}}
        for event in events
    ]
    tried("ticket_story", {EVENTS: json.dumps([STORY[0], *drawn]).encode()})


@pytest.mark.long
@few
@given(st.sampled_from([SAMPLES, READINGS, JOURNAL]), st.data())
def test_any_cells_in_a_record(table: str, data: st.DataObject) -> None:
    names = columns(TABLES[table])
    cells = st.text(st.characters(blacklist_characters='",\n\r\0'), max_size=12)
    words = cells | st.sampled_from(["yes", "0.5", "nan", "-1", "1e999", "pass", "fail", "{}"])
    rows = data.draw(st.lists(st.lists(words, min_size=len(names), max_size=len(names))))
    lines = [",".join(names), *(",".join(row) for row in rows)]
    seed = target("record").seeds(Path("."))[0]
    text = "\n".join(lines) + "\n"
    tried("record", {**seed, SEAL: b"1", table: text.encode("utf-8", "replace")})


@few
@given(st.lists(st.lists(st.text(max_size=12), max_size=5), max_size=6))
def test_any_rows_of_values(rows: list[list[str]]) -> None:
    lines = ["point,value,unit,uncertainty", *(",".join(row) for row in rows)]
    tried("meter_file", {"m.csv": "\n".join(lines).encode("utf-8", "replace")})


@few
@given(st.lists(st.lists(st.floats() | st.text(max_size=8), max_size=8), max_size=30))
def test_any_rows_of_a_recording(rows: list[list[float | str]]) -> None:
    head = "time_s,power_w,gpu_temp_c,hotspot_temp_c,memory_temp_c,fan_rpm,energy_j"
    lines = [head, *(",".join(map(str, row)) for row in rows)]
    tried("recording", {"r.csv": "\n".join(lines).encode("utf-8", "replace")})


@given(VALUES)
def test_a_finite_number_is_one_or_none(value: object) -> None:
    number = finite(value)
    assert number is None or number == value
    assert (number is None) == (
        isinstance(value, bool)
        or not isinstance(value, int | float)
        or value != value
        or abs(value) > 1.7976931348623157e308
    )


@pytest.mark.parametrize("size", [0, 1, 10])
def test_a_file_of_at_most_so_many_bytes_is_read_whole(size: int, tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"x" * size)
    assert read_at_most(path, 10) == b"x" * size


def test_a_byte_more_is_refused_with_both_sizes(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"x" * 1235)
    with pytest.raises(OSError, match=r"1,235 bytes.*at most 1,234"):
        read_at_most(path, 1234)


def test_what_is_no_file_is_refused_at_once(tmp_path: Path) -> None:
    for path in (tmp_path, Path("/dev/zero")):
        with pytest.raises(OSError):  # noqa: PT011 - which one is the system's matter
            read_at_most(path, 10)


def test_a_word_file_that_would_break_a_sheet_is_refused_with_its_place(tmp_path: Path) -> None:
    for text, place in (
        ('[says]\nx = "{"\n', r"\[says\] x"),
        ('[says]\nx = ["a"]\n', r"\[says\] x"),
        ('[says]\nx = "{value:999999999}"\n', r"\[says\] x"),
        ("[format]\nmonths = ['a']\n", r"\[format\] months"),
        ("[format]\nday = '{hour}'\n", r"\[format\] day"),
        ("says = 3\n", r"\[says\]"),
        ("[says]\nx = " + "[" * 3000, "is not valid TOML"),
    ):
        (tmp_path / "w.xx.toml").write_text(text)
        with refused(BadInput, match=place):
            target("language").read(tmp_path, {})
