"""A stage, a sensor source and a report format from one package that lies outside this tree."""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

MODULE = '''
"""A thermocouple on the card's memory: its source, the stage that looks at it, a short report."""

from importlib.resources import files
from typing import Literal

from pydantic import Field

from burnin.card.capabilities import ReadsTelemetry
from burnin.card.source import BEST
from burnin.core.meaning import ReasonCode, SourceCode
from burnin.core.reading import Limit, judge
from burnin.profile.stage_settings import StageSettings
from burnin.report.formats import ReportFormat
from burnin.stages.context import StageContext
from burnin.stages.kind import StageKind


class Channel(SourceCode):
    NUMBER = "wrenfield_channel", "channel"


class WarmReason(ReasonCode):
    TOO_WARM = "wrenfield_too_warm", "temp_c"


class Thermocouple:
    offers = {"memory_temp_c": BEST + 1}

    def read(self, names):
        return dict.fromkeys(names, 41.5)

    def source(self, name):
        return Channel.NUMBER(channel=3)

    def present(self):
        return True


class Thermocouples:
    name = "wrenfield"

    def probe(self, place):
        return Thermocouple()


class MemoryWarmth(StageSettings):
    """The memory is not too warm at rest."""

    stage: Literal["wrenfield_warmth"]
    at_most_c: float = Field(default=40.0, ge=0.0, le=120.0)


def carry_out(context: StageContext[ReadsTelemetry], settings: MemoryWarmth) -> None:
    temp_c = context.card.telemetry().memory_temp_c
    why = WarmReason.TOO_WARM(temp_c=temp_c)
    context.take(
        judge("memory_at_rest_c", temp_c, "°C", Limit(upper=settings.at_most_c),
              source=Channel.NUMBER(channel=3), why_fail=why)
    )
    context.rest(1.0)


def _short(given):
    """One line a stage, for the shop's wall."""
    lines = [f"{s.stage} {s.verdict}" for s in given.record.run.stages]
    return "\\n".join(lines).encode()


KIND = StageKind(
    name="wrenfield_warmth", settings=MemoryWarmth, carry_out=carry_out,
    expected_s=lambda settings: 1.0, capabilities=(ReadsTelemetry,), needs_card=True, works=False,
    words=files(__name__), rule_from="the shop's own notes of 2026",
)
SOURCE = Thermocouples()
REPORT = ReportFormat("wall", "wall.txt", _short)
'''
WORDS = '''
[says]
stage_wrenfield_warmth = "Memory at rest"
stage_wrenfield_warmth_asks = "Is the memory cool at rest?"
wrenfield_too_warm = "{temp_c:.1f} °C is too warm for memory at rest"
wrenfield_channel = "thermocouple, channel {channel}"
[readings]
memory_at_rest_c = "Memory temperature at rest"
'''
PROFILE = '''
format = 1
title = "Memory at rest"
[guards]
gpu_temp_limit_c = 90.0
[[stages]]
stage = "enumeration"
[[stages]]
stage = "wrenfield_warmth"
'''


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The package as an installer leaves it: its module, and metadata with its entry points."""
    folder = tmp_path_factory.mktemp("site")
    package = folder / "wrenfield_bench"
    package.mkdir()
    (package / "__init__.py").write_text(MODULE, "utf-8")
    for language in ("en", "de"):
        (package / f"words.{language}.toml").write_text(WORDS, "utf-8")
    metadata = folder / "wrenfield_bench-1.0.dist-info"
    metadata.mkdir()
    (metadata / "METADATA").write_text(
        "Metadata-Version: 2.1\nName: wrenfield-bench\nVersion: 1.0\n"
    )
    (metadata / "entry_points.txt").write_text(
        "[burnin.stages]\nwrenfield_warmth = wrenfield_bench:KIND\n"
        "[burnin.sources]\nwrenfield = wrenfield_bench:SOURCE\n"
        "[burnin.reports]\nwall = wrenfield_bench:REPORT\n"
    )
    return folder


@pytest.fixture(scope="module")
def record(site: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The record of a run with the package beside ours."""
    folder = tmp_path_factory.mktemp("run")
    profile = folder / "warmth.toml"
    profile.write_text(PROFILE, "utf-8")
    told = burnin(site, "run", "-p", str(profile), "--simulated", "healthy", "--results",
                  str(folder / "results"))  # fmt: skip
    assert told.returncode == 1, told.stderr + told.stdout
    assert "41.5 °C is too warm" in told.stdout
    (found,) = (folder / "results").glob("*/*/run.json")
    return found.parent


def burnin(site: Path, *words: str) -> subprocess.CompletedProcess[str]:
    path = os.pathsep.join(p for p in (str(site), os.environ.get("PYTHONPATH", "")) if p)
    return subprocess.run(
        [sys.executable, "-m", "burnin", *words],
        env=os.environ | {"PYTHONPATH": path}, capture_output=True, text=True, timeout=120,
    )  # fmt: skip


def test_profiles_schema_admits_the_stage(site: Path) -> None:
    schema = json.loads(burnin(site, "profiles", "schema").stdout)
    assert "wrenfield_warmth" in schema["properties"]["stages"]["items"]["discriminator"]["mapping"]


def test_the_run_has_the_stage_and_the_value_with_its_source(record: Path) -> None:
    run = json.loads((record / "run.json").read_text("utf-8"))
    kinds = [stage["kind"] for stage in run["stages"]]
    assert kinds == ["enumeration", "wrenfield_warmth", "whole_run"]
    assert run["sources"]["memory_temp_c"] == {"code": "wrenfield_channel", "channel": 3}
    rows = (record / "samples.csv").read_text("utf-8").splitlines()
    place = rows[0].split(",").index("memory_temp_c")
    assert {row.split(",")[place] for row in rows[1:]} == {"41.5"}


def test_the_sheet_tells_stage_reading_and_reason_in_the_package_s_words(record: Path) -> None:
    sheet = (record / "sheet.html").read_text("utf-8")
    assert "Memory at rest" in sheet
    assert "Memory temperature at rest" in sheet
    assert "41.5 °C is too warm for memory at rest" in sheet


def test_the_report_is_made_and_vouched_for(record: Path) -> None:
    made = (record / "wall.txt").read_bytes()
    assert made == b"1-enumeration pass\n2-wrenfield_warmth fail\nwhole_run pass"
    digest = hashlib.sha256(made).hexdigest()
    assert f"{digest}  wall.txt" in (record / "checksums.sha256").read_text("utf-8")
