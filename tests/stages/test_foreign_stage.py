"""A stage of a shop's own: a package beside ours, found by its entry point, as ours are.

The package is laid out as an installer leaves it (https://packaging.python.org, "Recording
installed projects"), so that nothing is fetched and nothing of this tree is touched.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

STAGE = '''
"""Whether the fans turn at rest.

Rule: the shop's own, from its notes of 2026.
"""

from importlib.resources import files
from typing import Literal, Protocol

from pydantic import Field

from burnin.card.capabilities import ReadsTelemetry
from burnin.core.meaning import ReasonCode
from burnin.core.reading import Limit, judge
from burnin.profile.stage_settings import StageSettings
from burnin.stages.context import StageContext
from burnin.stages.kind import StageKind


class FanReason(ReasonCode):
    TOO_SLOW = "wrenfield_fans_too_slow", "fan_rpm"


class FansAtRest(StageSettings):
    """The fans turn at rest."""

    stage: Literal["wrenfield_fans"]
    at_least_rpm: float = Field(default=0.0, ge=0.0, le=20000.0)


def carry_out(context: StageContext[ReadsTelemetry], settings: FansAtRest) -> None:
    rpm = context.card.telemetry().fan_rpm
    limit = Limit(lower=settings.at_least_rpm)
    why = FanReason.TOO_SLOW(fan_rpm=rpm)
    context.take(judge("fan_at_rest_rpm", rpm, "rpm", limit, why_fail=why))


KIND = StageKind(
    name="wrenfield_fans",
    settings=FansAtRest,
    carry_out=carry_out,
    expected_s=lambda settings: 0.0,
    capabilities=(ReadsTelemetry,),
    needs_card=True,
    works=False,
    words=files(__name__),
    rule_from="the shop's own notes of 2026",
)
'''
WORDS = {
    "en": ("Fans at rest", "{fan_rpm:.0f} rpm are too slow"),
    "de": ("Lüfter in Ruhe", "{fan_rpm:.0f} U/min sind zu langsam"),
}
PROFILE = """
format = 1
title = "Fans only"
[guards]
gpu_temp_limit_c = 90.0
[[stages]]
stage = "enumeration"
[[stages]]
stage = "wrenfield_fans"
at_least_rpm = 15000.0
"""


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of installed packages that holds the shop's."""
    folder = tmp_path_factory.mktemp("site")
    package = folder / "wrenfield_stages"
    package.mkdir()
    (package / "__init__.py").write_text(STAGE, "utf-8")
    for language, (title, slow) in WORDS.items():
        (package / f"words.{language}.toml").write_text(
            f'[says]\nstage_wrenfield_fans = "{title}"\nwrenfield_fans_too_slow = "{slow}"\n'
            f'[readings]\nfan_at_rest_rpm = "{title}"\n',
            "utf-8",
        )
    told = folder / "wrenfield_stages-1.0.dist-info"
    told.mkdir()
    (told / "METADATA").write_text("Metadata-Version: 2.1\nName: wrenfield-stages\nVersion: 1.0\n")
    (told / "entry_points.txt").write_text(
        "[burnin.stages]\nwrenfield_fans = wrenfield_stages:KIND\n"
    )
    return folder


def burnin(site: Path, *words: str) -> subprocess.CompletedProcess[str]:
    path = os.pathsep.join(p for p in (str(site), os.environ.get("PYTHONPATH", "")) if p)
    return subprocess.run(
        [sys.executable, "-m", "burnin", *words],
        env=os.environ | {"PYTHONPATH": path},
        capture_output=True,
        text=True,
        timeout=120,
    )


def test_the_schema_of_profiles_admits_it(site: Path) -> None:
    schema = json.loads(burnin(site, "profiles", "schema").stdout)
    stages = schema["properties"]["stages"]["items"]["discriminator"]["mapping"]
    assert "wrenfield_fans" in stages
    assert schema["$defs"]["FansAtRest"]["properties"]["at_least_rpm"]["maximum"] == 20000.0


def test_a_fault_in_its_settings_is_told_as_any_other(site: Path, tmp_path: Path) -> None:
    profile = tmp_path / "fans.toml"
    profile.write_text(PROFILE.replace("15000.0", "-1.0"), "utf-8")
    told = burnin(site, "profiles", "check", str(profile))
    assert told.returncode == 2
    assert "stages[1].at_least_rpm" in told.stdout + told.stderr


def test_a_run_carries_it_out_and_puts_it_on_record(site: Path, tmp_path: Path) -> None:
    profile = tmp_path / "fans.toml"
    profile.write_text(PROFILE, "utf-8")
    results = tmp_path / "results"
    told = burnin(site, "run", "-p", str(profile), "--simulated", "healthy", "--results",
                  str(results))  # fmt: skip
    assert told.returncode == 1, told.stderr
    assert "rpm are too slow" in told.stdout
    run = json.loads(next(results.glob("*/*/run.json")).read_text("utf-8"))
    stage = run["stages"][1]
    assert (stage["kind"], stage["verdict"]) == ("wrenfield_fans", "fail")
    reasons = json.dumps(stage["reasons"])
    assert "wrenfield_fans_too_slow" in reasons


def test_without_the_package_the_same_profile_is_refused(tmp_path: Path) -> None:
    profile = tmp_path / "fans.toml"
    profile.write_text(PROFILE, "utf-8")
    told = burnin(tmp_path, "profiles", "check", str(profile))
    assert told.returncode == 2
    assert "wrenfield_fans" in told.stdout + told.stderr


def test_a_package_that_cannot_be_loaded_is_named(tmp_path: Path) -> None:
    told = tmp_path / "gone-1.0.dist-info"
    told.mkdir()
    (told / "METADATA").write_text("Metadata-Version: 2.1\nName: gone\nVersion: 1.0\n")
    (told / "entry_points.txt").write_text("[burnin.stages]\ngone = gone_stage:KIND\n")
    answer = burnin(tmp_path, "profiles", "check", "desktop_air")
    assert answer.returncode == 2
    assert "gone_stage:KIND" in answer.stdout + answer.stderr
