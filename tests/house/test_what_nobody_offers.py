"""What no source offers is named on the sheet with the words of its code, for every capability."""

from __future__ import annotations

import html
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from burnin.card import capabilities
from burnin.card.meanings import CardReason
from burnin.core.identity import Identity
from burnin.core.reading import NotMeasured
from burnin.core.sample import TELEMETRY_NAMES, Telemetry
from burnin.core.ticket_header import Ticket
from burnin.profile.loader import parse_profile
from burnin.report.languages.catalogue import catalogue
from burnin.report.make import make_sheet
from burnin.run.begin import plan_run
from burnin.run.bench import Options, open_bench_for
from burnin.run.session import carry_out_with_sinks, prompter_for

PROFILE = """
format = 1
title = "A little of everything"
[guards]
gpu_temp_limit_c = 90.0
[[stages]]
stage = "enumeration"
[[stages]]
stage = "link"
width_lanes = 16
generation = 4
load_s = 1.0
[[stages]]
stage = "display"
outputs = 4
watch_s = 0.0
[[stages]]
stage = "memory"
patterns = ["solid"]
[[stages]]
stage = "thermal_ramp"
cool_down_s = 1.0
gpu_temp_at_most_c = 80.0
[[stages.steps]]
power_w = 120.0
hold_s = 8.0
"""
HIDDEN = {
    "configuration_space": capabilities.HasConfigurationSpace,
    "link": capabilities.ReportsLink,
    "error_counters": capabilities.CountsErrors,
    "memory_errors": capabilities.CountsMemoryErrors,
    "outputs": capabilities.DetectsDisplays,
    "telemetry": capabilities.ReadsTelemetry,
    "identity": capabilities.Enumerates,
    "position": capabilities.TellsPosition,
    "fan_count": capabilities.CountsFans,
}


class Without:
    """A card of which one thing is offered by nobody."""

    def __init__(self, card: Any, method: str) -> None:
        self._card, self._method = card, method

    def __getattr__(self, name: str) -> Any:
        if name.startswith(self._method):
            return lambda *_: self._nothing()
        return getattr(self._card, name)

    def _nothing(self) -> object:
        none = NotMeasured(CardReason.NOT_OFFERED(value=self._method, sources=("nobody's",)))
        if self._method == "telemetry":
            return Telemetry(**dict.fromkeys(TELEMETRY_NAMES, none))
        if self._method == "identity":
            told: Identity = self._card.identity()
            return replace(told, serial=none, uuid=none, firmware_version=none, driver=none)
        if self._method == "link":
            end = capabilities.LinkEnd(none, none, none, none, self._card.link().card.source)
            return capabilities.Link(end, none)
        return none


@pytest.mark.parametrize("method", HIDDEN)
def test_its_reason_reaches_the_sheet(method: str, tmp_path: Path) -> None:
    loaded = parse_profile("all", "all.toml", PROFILE, tomllib.loads(PROFILE))
    options = Options(simulated="healthy")
    opened = open_bench_for(options)
    card: Any = Without(opened.card, method)
    opened = replace(opened, card=card, identity=card.identity())
    plan = plan_run(opened, loaded, Ticket(), options, tmp_path)
    outcome = carry_out_with_sinks(replace(plan, prompter=prompter_for(opened)))
    assert outcome.verdict != "pass"
    sheet = html.unescape(make_sheet(outcome.folder)["html"].read_text("utf-8"))
    why = CardReason.NOT_OFFERED(value=method, sources=("nobody's",))
    assert catalogue("en").say(why) in " ".join(sheet.split())


def test_no_capability_is_left_out_here() -> None:
    protocols = {
        value
        for value in vars(capabilities).values()
        if getattr(value, "_is_protocol", False) and value.__module__ == capabilities.__name__
    }
    asked = {
        base for shown in HIDDEN.values() for base in shown.__mro__ if base in protocols
    }
    of_the_bench = {capabilities.Bench, capabilities.Card, capabilities.NamesSources}
    # Free memory and processes are asked for by engines and their proof; steps of sensors always
    # have a default; what a card may draw and how fast it may run only adds readings.
    rest = {
        capabilities.HasMemory,
        capabilities.TellsSteps,
        capabilities.TellsProcesses,
        capabilities.TellsRatings,
    }
    assert protocols - asked - of_the_bench <= rest
