"""The bill of materials against the published schema of CycloneDX 1.6."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from jsonschema import (  # type: ignore[import-untyped]
    Draft7Validator,
    FormatChecker,
)
from referencing import Registry
from referencing.jsonschema import DRAFT7
from typer.testing import CliRunner

from burnin.cli.app import app
from burnin.cli.packages.bill import bill_of_materials
from burnin.cli.packages.installed import asked_by_tool, packages
from burnin.cli.packages.locks import Locked
from tests.cli.made_up_packages import here, put

SCHEMAS = files("cyclonedx.schema._res")
MADE_AT = datetime(2026, 1, 2, 3, 4, 5, tzinfo=UTC)


@cache
def validator() -> Draft7Validator:
    """The schema and those that it refers to, from the wheel of a library of that project."""
    held = Registry[Any]().with_resources(
        (name, DRAFT7.create_resource(json.loads((SCHEMAS / name).read_text("utf-8"))))
        for name in ("spdx.SNAPSHOT.schema.json", "jsf-0.82.SNAPSHOT.schema.json")
    )
    schema = json.loads((SCHEMAS / "bom-1.6.SNAPSHOT.schema.json").read_text("utf-8"))
    base = schema["$id"].rpartition("/")[0]
    also = held.with_resources((f"{base}/{name}", held[name]) for name in held)
    return Draft7Validator(schema, registry=also, format_checker=FormatChecker())


def faults(bill: object) -> list[str]:
    return [error.message for error in validator().iter_errors(bill)]


@cache
def printed(*words: str) -> dict[str, Any]:
    done = CliRunner().invoke(app, ["packages", "bill", *words])
    assert done.exit_code == 0
    bill: dict[str, Any] = json.loads(done.output)
    return bill


@pytest.mark.parametrize("words", [(), ("--all",)])
def test_what_the_command_prints_keeps_the_published_schema(words: tuple[str, ...]) -> None:
    assert faults(printed(*words)) == []
    assert printed(*words)["specVersion"] == "1.6"


@pytest.mark.parametrize(
    ("place", "value"),
    [
        (("specVersion",), 1.6),
        (("serialNumber",), "4711"),
        (("components", 1, "type"), "part"),
        (("components", 1, "licenses"), [{"license": {"id": "No-Such-Licence"}}]),
        (("components", 1, "scope"), "sometimes"),
        (("components", 1, "externalReferences", 0, "hashes", 0, "content"), "abc"),
        (("dependencies", 0, "ref"), None),
        (("metadata", "timestamp"), 5),
        (("further",), 1),
    ],
)
def test_the_schema_refuses_what_is_no_bill(place: tuple[Any, ...], value: object) -> None:
    bill = json.loads(json.dumps(printed()))
    inside = bill
    for step in place[:-1]:
        inside = inside[step]
    inside[place[-1]] = value
    assert len(faults(bill)) >= 1


def test_every_reference_in_it_leads_to_a_part_of_it() -> None:
    for bill in (printed(), printed("--all")):
        refs = [part["bom-ref"] for part in bill["components"]]
        known = {*refs, bill["metadata"]["component"]["bom-ref"]}
        assert len(known) == len(refs) + 1
        for line in bill["dependencies"]:
            assert {line["ref"], *line["dependsOn"]} <= known


def test_it_names_what_a_run_loads_and_with_all_the_tests_too() -> None:
    run = {part["name"] for part in printed()["components"]}
    whole = {part["name"]: part for part in printed("--all")["components"]}
    assert {"numpy", "rich", "CPython"} <= run
    assert "pytest" not in run
    assert whole["pytest"]["scope"] == "excluded"
    assert run < whole.keys()


def test_versions_licences_sums_and_ways_are_those_of_the_installation(tmp_path: Path) -> None:
    put(tmp_path, "Low_Level", "2.0+x", ["License: As we please"])
    put(tmp_path, "strata", fields=["License-Expression: MIT", "Requires-Dist: low-level"])
    asks = ["Requires-Dist: strata", "Provides-Extra: more", 'Requires-Dist: o; extra=="more"']
    put(tmp_path, "burnin", "0.9", asks)
    put(tmp_path, "o", fields=[])
    put(tmp_path, "stray")
    lock = [
        Locked("strata", "1.0", True, ("b" * 64, "a" * 64)),
        Locked("strata", "1.1", False, ("c" * 64,)),
    ]
    at = here(tmp_path)
    bill = bill_of_materials("0.9", packages(at), lock, MADE_AT, asked=asked_by_tool(at))
    assert faults(bill) == []
    parts = {part["name"]: part for part in bill["components"] if part["type"] == "library"}
    assert set(parts) == {"Low_Level", "o", "strata"}
    assert parts["Low_Level"]["purl"] == "pkg:pypi/low-level@2.0%2Bx"
    assert parts["Low_Level"]["licenses"] == [{"license": {"name": "As we please"}}]
    assert parts["strata"]["licenses"] == [{"expression": "MIT"}]
    assert "licenses" not in parts["o"]
    assert (parts["strata"]["scope"], parts["o"]["scope"]) == ("required", "optional")
    [archives] = parts["strata"]["externalReferences"]
    assert [one["content"][0] for one in archives["hashes"]] == ["a", "b"]
    ways = {line["ref"]: line["dependsOn"] for line in bill["dependencies"]}
    assert ways["pkg:pypi/strata@1.0"] == ["pkg:pypi/low-level@2.0%2Bx"]
    assert ways["pkg:pypi/burnin@0.9"][1:] == ["pkg:pypi/strata@1.0"]


def test_the_serial_number_differs_where_the_bill_does(tmp_path: Path) -> None:
    put(tmp_path, "strata")
    at = packages(here(tmp_path))

    def serial(version: str) -> str:
        bill = bill_of_materials(version, at, (), MADE_AT, asked=(), everything=True)
        return str(bill["serialNumber"])

    assert serial("1") == serial("1") != serial("2")
