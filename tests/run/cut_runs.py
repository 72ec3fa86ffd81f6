"""Runs of one short profile on a scenario file, cut by a power cut, and what goes on in them.

Between the parts of a run the scenario may be written anew: somebody moved a cable, or put another
card in.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from burnin.cli.app import app
from burnin.core.events import Event
from burnin.profile.loader import LoadedProfile, parse_profile
from tests.run.driving import run_simulated
from tests.run.test_resume import PowerCut
from tests.sim.machines import content_of

TEXT = """format = 1
title = "Three short checks"

[guards]
gpu_temp_limit_c = 90.0

[[stages]]
stage = "enumeration"

[[stages]]
stage = "display"
outputs = 4
monitors = "all"
watch_s = 0.5

[[stages]]
stage = "compute"
load_s = 2.0
"""


def short_profile() -> LoadedProfile:
    """Enumeration, display, two seconds of arithmetic."""
    return parse_profile("three", "three.toml", TEXT, tomllib.loads(TEXT))


def put_scenario(file: Path, *causes: dict[str, Any], **card: object) -> None:
    """Write the healthy scenario with these causes and these facts of the card."""
    content = content_of("healthy")
    content["card"] |= card
    content["causes"] = list(causes)
    file.write_text(_toml(content), encoding="utf-8")


def _toml(content: dict[str, Any]) -> str:
    """TOML of one level of tables and lists of tables, values as JSON writes them."""
    lines, tables = [], []
    for name, value in content.items():
        if isinstance(value, dict):
            tables += _table(f"[{name}]", name, value)
        elif isinstance(value, list) and value and isinstance(value[0], dict):
            for one in value:
                tables += _table(f"[[{name}]]", name, one)
        elif value != []:
            lines.append(f"{name} = {json.dumps(value)}")
    return "\n".join([*lines, *tables, ""])


def _table(head: str, path: str, content: dict[str, Any]) -> list[str]:
    lines, below = [head], []
    for name, value in content.items():
        if isinstance(value, dict):
            below += _table(f"[{path}.{name}]", f"{path}.{name}", value)
        elif isinstance(value, list) and value and isinstance(value[0], dict):
            for one in value:
                below += _table(f"[[{path}.{name}]]", f"{path}.{name}", one)
        else:
            lines.append(f"{name} = {json.dumps(value)}")
    return [*lines, *below]


def cut_run(scenario: Path, results: Path, cut_at: Callable[[Event], bool]) -> Path:
    """The folder of a run whose power went right after an event was on record."""

    def on_event(event: Event) -> None:
        if cut_at(event):
            raise PowerCut

    with pytest.raises(PowerCut):
        run_simulated(str(scenario), short_profile(), results, on_event=on_event)
    [folder] = (results / "T-1").iterdir()
    return folder


def gone_on(folder: Path) -> Result:
    """What `run --resume` says of it."""
    return CliRunner().invoke(app, ["run", "--resume", str(folder), "--unattended"])
