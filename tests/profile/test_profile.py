"""Profiles: those that ship are valid, those that are wrong are explained."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest

from burnin.core.errors import ProfileError
from burnin.profile.loader import (
    load_profile,
    parse_profile,
    profile_names,
    profile_schema,
)
from burnin.profile.meanings import ProfileOwed, ProfileReason
from burnin.profile.model import Profile
from burnin.report.languages.catalogue import catalogue, language_names
from burnin.stages.thermal_ramp.settings import ThermalRamp
from tests.refusals import refused, words_of

TEXT = """format = 1
title = "A card"

[guards]
gpu_temp_limit_c = 85.0

[[stages]]
stage = "link"
width_lanes = 16
generation = 4

[[stages]]
stage = "memory"
passes = 2
"""


def check(text: str) -> Profile:
    return parse_profile("mine", "mine.toml", text, tomllib.loads(text)).profile


def test_the_profiles_that_ship_are_valid() -> None:
    names = profile_names()
    assert {
        "desktop_air",
        "water_loop",
        "water_no_loop",
        "short_x8",
        "passive_compute",
    } <= set(names)
    for name in names:
        loaded = load_profile(name)
        assert loaded.profile.stages[0].stage == "enumeration"
        assert len(loaded.sha256) == 64


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("width_lanes = 16", "width_lanes = 15", ["line 9", "stages[0].width_lanes", "15", "16"]),
        ("passes = 2", "passes = 0", ["line 14", "stages[1].passes", "0", "greater than or equal"]),
        ("passes = 2", "pases = 2", ["line 14", "stages[1].pases", "no such field"]),
        ("passes = 2", 'passes = "two"', ["line 14", "stages[1].passes", "'two'", "integer"]),
        ('stage = "memory"', 'stage = "memroy"', ["stages[1]", "memroy", "thermal_ramp"]),
        ("gpu_temp_limit_c = 85.0", "", ["guards.gpu_temp_limit_c", "missing"]),
        ("gpu_temp_limit_c = 85.0", "gpu_temp_limit_c = 300.0", ["line 5", "300", "125"]),
        ("format = 1", "format = 2", ["line 1", "format", "2", "1"]),
    ],
)
def test_a_fault_is_named_with_file_field_value_and_what_is_allowed(
    old: str, new: str, told: list[str]
) -> None:
    with pytest.raises(ProfileError) as caught:
        check(TEXT.replace(old, new))
    message = words_of(caught.value)
    assert message.startswith("mine.toml")
    for part in told:
        assert part in message


def test_all_faults_are_told_at_once() -> None:
    text = TEXT.replace("generation = 4", "generation = 9").replace("passes = 2", "passes = -1")
    with pytest.raises(ProfileError) as caught:
        check(text)
    assert len(words_of(caught.value).splitlines()) == 2


def test_a_limit_above_its_guard_is_refused() -> None:
    ramp = """
[[stages]]
stage = "thermal_ramp"
steps = [{ load_share = 1.0, hold_s = 10.0 }]
gpu_temp_at_most_c = 90.0
"""
    with refused(ProfileError, match=r"above guards\.gpu_temp_limit_c"):
        check(TEXT + ramp)


@pytest.mark.parametrize("content", [b"format = ", b"\xff\xfe", b""])
def test_files_that_are_no_profile_end_in_a_sentence(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "p.toml"
    path.write_bytes(content)
    with refused(ProfileError, match=r"p\.toml"):
        load_profile(str(path))


def test_an_unknown_name_is_answered_with_the_names_there_are() -> None:
    with refused(ProfileError, match="desktop_air"):
        load_profile("desktop_steam")


def test_the_schema_accepts_the_profiles_that_ship() -> None:
    schema = json.loads(profile_schema())
    assert schema["$schema"].startswith("https://json-schema.org/")
    assert set(schema["required"]) == {"format", "title", "guards", "stages"}
    kinds = schema["properties"]["stages"]["items"]["discriminator"]["mapping"]
    for name in profile_names():
        for stage in load_profile(name).profile.stages:
            assert stage.stage in kinds


RAMP = """
[[stages]]
stage = "thermal_ramp"
"""
OWN = RAMP + """
[stages.own_plan]
top_w = 300.0
budget_j = 5000.0
"""
WITH_FORECAST = TEXT.replace("[guards]\n", "[guards]\nforecast = true\n")


def test_a_ramp_may_plan_itself() -> None:
    ramp = check(WITH_FORECAST + OWN).stages[-1]
    assert isinstance(ramp, ThermalRamp)
    assert ramp.steps == ()
    assert ramp.own_plan is not None
    assert ramp.own_plan.top_w == 300.0
    assert ramp.own_plan.budget_j == 5000.0
    # left out: a gentle step first, rests of ten minutes at most
    assert (ramp.own_plan.gentle_w, ramp.own_plan.rest_at_most_s) == (150.0, 600.0)
    assert ramp.own_plan.no_loop is False
    assert ramp.needs_forecast() == "own_plan"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (WITH_FORECAST + RAMP, ["stages[2]", "either steps or a table [stages.own_plan]"]),
        (
            WITH_FORECAST + OWN.replace(
                'p"\n\n', 'p"\nsteps = [{ power_w = 100.0, hold_s = 9.0 }]\n\n'
            ),
            ["not both"],
        ),
        (TEXT + OWN, ["stages[2].own_plan", "forecast = true in [guards]"]),
        (
            TEXT + RAMP + "steps = [{ load_share = 1.0, hold_s = 9.0 }]\nrated_w = 300.0\n",
            ["stages[2].rated_w", "forecast = true in [guards]"],
        ),
        (WITH_FORECAST + OWN.replace("top_w = 300.0", ""), ["stages[2].own_plan.top_w", "missing"]),
        (
            WITH_FORECAST + OWN.replace("top_w = 300.0", "top_w = -3.0"),
            ["line 21", "stages[2].own_plan.top_w", "-3", "greater than 0"],
        ),
        (WITH_FORECAST + OWN + "least_s = 90.0\n", ["least_s = 90", "most_s = 60"]),
        (WITH_FORECAST + OWN + "gentle_w = 400.0\n", ["gentle_w = 400", "top_w = 300"]),
        (
            WITH_FORECAST + OWN.replace("budget_j = 5000.0", "no_loop = true"),
            ["no_loop needs budget_j"],
        ),
        (
            WITH_FORECAST + OWN.replace('p"\n\n', 'p"\nheat_budget_j = 100.0\n\n'),
            ["heat_budget_j goes with steps", "own_plan.budget_j"],
        ),
        (
            WITH_FORECAST.replace("85.0\n", "85.0\npower_limit_w = 250.0\n") + OWN,
            ["top_w = 300", "power_limit_w = 250"],
        ),
    ],
)
def test_what_a_ramp_cannot_do_is_told(text: str, told: list[str]) -> None:
    with pytest.raises(ProfileError) as caught:
        check(text)
    for part in told:
        assert part in words_of(caught.value)


def test_the_schema_asks_for_one_plan() -> None:
    schema = json.loads(profile_schema())
    ramp = schema["$defs"]["ThermalRamp"]
    assert ramp["oneOf"] == [{"required": ["steps"]}, {"required": ["own_plan"]}]
    assert "top_w" in schema["$defs"]["OwnPlan"]["required"]


OWED = """
[[owed]]
work = "soak_with_loop"
because = "no_loop_on_bench"
"""


def test_what_a_profile_owes_is_told_by_codes() -> None:
    profile = check(TEXT + OWED)
    owed = profile.owed[0].as_owed()
    assert (owed.stage, owed.what, owed.reason) == (
        "",
        ProfileOwed.SOAK_WITH_LOOP(),
        ProfileReason.NO_LOOP_ON_BENCH(),
    )
    assert load_profile("water_no_loop").profile.owed == profile.owed


def test_the_schema_lists_every_code_that_may_be_owed() -> None:
    schema = json.loads(profile_schema())["$defs"]
    assert schema["ProfileOwed"]["enum"] == [code.value for code in ProfileOwed]
    assert schema["ProfileReason"]["enum"] == [code.value for code in ProfileReason]


@pytest.mark.parametrize("code", [*ProfileOwed, *ProfileReason])
@pytest.mark.parametrize("language", language_names())
def test_every_code_that_may_be_owed_has_words(
    code: ProfileOwed | ProfileReason, language: str
) -> None:
    assert catalogue(language).knows(code.value)


@pytest.mark.parametrize(
    ("owed", "told"),
    [
        (
            '[[owed]]\nwhat = "Long soak"\nreason = "no loop attached"\n',
            ["line 15", "owed[0]", "free text", "soak_with_loop", "no_loop_on_bench"],
        ),
        (
            OWED.replace("soak_with_loop", "long_soak"),
            ["line 17", "owed[0].work", "'long_soak'", "must be", "soak_with_loop"],
        ),
        (OWED.replace('because = "no_loop_on_bench"', ""), ["owed[0].because", "is missing"]),
    ],
)
def test_what_is_owed_in_words_of_ones_own_is_refused_with_the_codes(
    owed: str, told: list[str]
) -> None:
    with pytest.raises(ProfileError) as caught:
        check(TEXT + owed)
    for part in told:
        assert part in words_of(caught.value)


def test_faults_of_stages_against_guards_are_told_together() -> None:
    ramp = RAMP + "steps = [{ load_share = 1.0, hold_s = 9.0 }]\nrated_w = 300.0\n"
    with pytest.raises(ProfileError) as caught:
        check(TEXT + ramp + "gpu_temp_at_most_c = 90.0\n")
    message = words_of(caught.value)
    assert "stages[2].rated_w needs forecast" in message
    assert "stages[2].gpu_temp_at_most_c = 90 lies above" in message
