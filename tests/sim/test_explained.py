from __future__ import annotations

import tomllib

import pytest

from burnin.sim.causes.explanation import CauseKind, cause_kinds, causes_text
from burnin.sim.scenario.model import (
    cause_scenario_names,
    load_scenario,
    scenario_from,
    scenario_names,
)
from tests.sim.machines import content_of

STAGES = {
    *("enumeration", "display", "link", "memory", "compute", "thermal_ramp"),
    *("movement", "under_load", "all_at_once"),
}


@pytest.mark.parametrize("kind", cause_kinds(), ids=lambda kind: kind.kind)
def test_the_example_of_every_kind_is_accepted(kind: CauseKind) -> None:
    base = "healthy_loop" if kind.kind == "coolant" else "healthy"
    content = content_of(base)
    content["card"]["power_plugs"] = ["8pin"]
    content["causes"] = tomllib.loads(kind.example)["causes"]
    (cause,) = scenario_from(content, kind.kind).causes
    assert cause.kind == kind.kind
    accepted = {name.strip("[]") for name, _ in kind.keys}
    assert set(content["causes"][0]) - {"kind"} <= accepted


@pytest.mark.parametrize("kind", cause_kinds(), ids=lambda kind: kind.kind)
def test_every_kind_is_explained(kind: CauseKind) -> None:
    assert kind.title
    assert kind.what_follows.endswith(".")
    assert set(kind.shows_in) <= STAGES
    assert all(takes != "a value" for _, takes in kind.keys)
    text = causes_text(96)
    assert f"{kind.kind}: {kind.title}" in text
    assert all(len(line) <= 96 for line in text.splitlines())


@pytest.mark.parametrize("name", cause_scenario_names())
def test_further_scenarios_name_a_cause_and_load_under_their_own_name(name: str) -> None:
    assert name not in scenario_names()
    scenario = load_scenario(name)
    assert scenario.name == name
    assert scenario.title
    assert scenario.causes or scenario.bench != load_scenario("healthy").bench
