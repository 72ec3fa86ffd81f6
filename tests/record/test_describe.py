"""The schema that is printed is the one that records keep to, and so are the tables in README."""

from __future__ import annotations

import json
import re
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest

from burnin.core.identity import Identity, TemperatureLimits
from burnin.core.opening import EngineDescription, Opening, ProfileOpened
from burnin.core.sample import TELEMETRY_NAMES, Resolution
from burnin.core.ticket_header import Ticket
from burnin.record.describe import DIALECT, record_schema, tables_in
from burnin.record.schema import card, run
from burnin.record.schema.run import RunFile
from burnin.record.schema.tables import TABLES, SampleRow, columns
from tests.record import streams

README = Path(__file__).parents[2] / "results" / "README.md"


def test_the_readmes_tables_are_made_from_the_models() -> None:
    text = README.read_text(encoding="utf-8")
    assert tables_in(text) == text, "run: python -m burnin.record.describe results/README.md"
    assert text.count("made from the models -->") == 1 + len(TABLES)


def test_tables_without_marks_are_told_so() -> None:
    with pytest.raises(ValueError, match=r"no marks for run\.json"):
        tables_in("# Records\n")


def test_every_key_and_column_says_what_it_is_and_its_unit() -> None:
    units = {"_s": "s", "_c": "°C", "_w": "W", "_j": "J", "_mhz": "MHz", "_pct": "%"}
    units |= {"_rpm": "1/min", "_gts": "GT/s", "_lanes": "lanes", "_bytes": "bytes"}
    for name, row in TABLES.items():
        for field_name, field in row.model_fields.items():
            assert field.description, f"{name} {field_name}"
            ending = re.search(r"_[a-z]+$", field_name)
            if ending and ending.group() in units:
                extra = field.json_schema_extra
                assert isinstance(extra, dict)
                assert extra["unit"] == units[ending.group()], f"{name} {field_name}"
    for key, field in RunFile.model_fields.items():
        assert field.description, key


def test_the_models_have_the_fields_of_what_they_keep() -> None:
    assert set(TELEMETRY_NAMES) < set(columns(SampleRow))
    for keys, kept in (
        (card.CardKeys, Identity),
        (run.ProfileKeys, ProfileOpened),
        (run.EngineKeys, EngineDescription),
        (run.TicketKeys, Ticket),
        (card.TemperatureLimitKeys, TemperatureLimits),
        (card.SensorStepKeys, Resolution),
    ):
        assert list(keys.model_fields) == [field.name for field in fields(kept)]
    assert {field.name for field in fields(Opening)} < set(RunFile.model_fields)


def test_the_writer_writes_the_keys_of_the_schema_in_their_order(tmp_path: Path) -> None:
    folder = streams.write(tmp_path / "r")
    assert list(json.loads((folder / "run.json").read_text())) == list(RunFile.model_fields)


def test_the_schema_is_of_2020_12_and_holds_every_file() -> None:
    content = json.loads(record_schema())
    assert content["$schema"] == DIALECT
    assert set(content["properties"]) == {"run.json", *TABLES}
    refs = set(re.findall(r'"#/\$defs/(\w+)"', record_schema()))
    assert refs
    assert refs <= set(content["$defs"])


def lines_as_objects(folder: Path) -> dict[str, list[dict[str, Any]]]:
    """Lines of each table as the schema means them: cells that are not empty, typed."""
    from burnin.record import csv_rows

    found: dict[str, list[dict[str, Any]]] = {}
    for name, row in TABLES.items():
        raw = (folder / name).read_bytes() if (folder / name).exists() else b""
        found[name] = [
            json.loads(
                row.model_validate(cells).model_dump_json(exclude_unset=True, by_alias=True)
            )
            for _, cells in csv_rows.rows(raw)
            if cells is not None
        ]
    return found


def test_a_record_keeps_to_the_printed_schema(tmp_path: Path) -> None:
    """By an implementation of JSON Schema that is not ours."""
    jsonschema = pytest.importorskip("jsonschema")
    content = json.loads(record_schema())
    jsonschema.Draft202012Validator.check_schema(content)
    folder = streams.write(tmp_path / "r")
    told = {"run.json": json.loads((folder / "run.json").read_text())}
    whole: dict[str, Any] = {**told, **lines_as_objects(folder)}
    validator = jsonschema.Draft202012Validator(content)
    assert list(validator.iter_errors(whole)) == []
    for path, value in (
        (("run.json", "verdict"), "passed"),
        (("run.json", "run_id"), ""),
        (("run.json", "card", "serial"), {"not_measured": "words"}),
        (("readings.csv", 0, "verdict"), "good"),
        (("samples.csv", 0, "gpu_temp_c"), "warm"),
    ):
        spoilt = json.loads(json.dumps(whole))
        *places, last = path
        inside = spoilt
        for place in places:
            inside = inside[place]
        inside[last] = value
        assert list(validator.iter_errors(spoilt)), path
