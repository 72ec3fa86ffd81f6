"""Seen: full load of 375 W on a card whose own limit is 450 W: PASS, with no word of why it drew no
more. And a memory that stays at its idle clock, and reads right."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner

from burnin.cli.app import app
from burnin.core.reading import Verdict
from burnin.core.verdict import RunVerdict
from burnin.record.reader import Record, read_record
from burnin.stages.memory.meanings import MemoryReason
from burnin.stages.thermal_ramp.meanings import ThermalRampReason, ThermalRampTerm

ENDS_IN_PASS, ENDS_CONDITIONAL = 0, 4

HEAT = """
format = 1
title = "Heat"

[guards]
gpu_temp_limit_c = 95.0

[[stages]]
stage = "thermal_ramp"
steps = [{step}]
cool_down_s = 2.0
"""
FULL = "{ load_share = 1.0, hold_s = 20.0 }"
SENSE_OPEN = """
[card]
cooling = "air"
power_plugs = ["8pin", "8pin"]
[[causes]]
kind = "power_plug"
plug = 0
contact = "4"
state = "open"
"""


def burnin_run(tmp_path: Path, profile: str, machine: str) -> tuple[int, str, Record]:
    (tmp_path / "profile.toml").write_text(profile)
    (tmp_path / "drawn.toml").write_text(f'name = "drawn"\ntitle = "Drawn"\n{machine}\n')
    results = tmp_path / "results"
    ran = CliRunner().invoke(
        app,
        ["run", "-p", str(tmp_path / "profile.toml"), "--simulated", str(tmp_path / "drawn.toml"),
         "--unattended", "--results", str(results)],
    )  # fmt: skip
    [found] = results.glob("*/*/run.json")
    return ran.exit_code, " ".join(ran.output.split()), read_record(found.parent)


def test_a_card_held_below_its_own_limit_is_unsure_with_names(tmp_path: Path) -> None:
    code, told, record = burnin_run(tmp_path, HEAT.format(step=FULL), SENSE_OPEN)
    assert code == ENDS_CONDITIONAL
    assert record.run.verdict is RunVerdict.CONDITIONAL
    [found] = [r for r in record.readings if r.name == "own_power_share"]
    assert found.verdict is Verdict.UNSURE
    assert found.reason is not None
    assert found.reason.means(ThermalRampReason.BELOW_OWN_POWER)
    causes = found.reason["causes"]
    assert isinstance(causes, tuple)
    assert causes[0] == ThermalRampTerm.SENSE_LINES(), "the limit in force is lowered"
    assert set(causes) == {
        ThermalRampTerm.SUPPLY_CONTACTS(), ThermalRampTerm.SENSE_LINES(),
        ThermalRampTerm.POWER_PLUG(), ThermalRampTerm.DRIVER_LIMIT(),
    }  # fmt: skip
    assert "of the card's own limit of 450 W" in told
    assert "supply contacts" in told


def test_a_sound_card_at_full_work_draws_its_own_limit(tmp_path: Path) -> None:
    code, _, record = burnin_run(tmp_path, HEAT.format(step=FULL), '[card]\ncooling = "air"')
    assert code == ENDS_IN_PASS
    [found] = [r for r in record.readings if r.name == "own_power_share"]
    assert found.verdict is Verdict.PASS


@pytest.mark.parametrize(
    "step", ["{ load_share = 0.5, hold_s = 20.0 }", "{ power_w = 300.0, hold_s = 20.0 }"]
)
def test_a_plan_that_asks_for_less_is_no_reason(tmp_path: Path, step: str) -> None:
    code, _, record = burnin_run(tmp_path, HEAT.format(step=step), '[card]\ncooling = "air"')
    assert code == ENDS_IN_PASS
    [found] = [r for r in record.readings if r.name == "own_power_share"]
    assert found.reason is not None
    assert found.reason.means(ThermalRampReason.ASKS_FOR_LESS)
    assert not found.required


@pytest.mark.parametrize(
    "sensor", ['state = "unreadable"', 'state = "stuck"\nvalue = 60.0']
)
def test_a_power_that_nobody_knows_is_no_pass(tmp_path: Path, sensor: str) -> None:
    machine = f'[card]\ncooling = "air"\n[[causes]]\nkind = "sensor"\nsensor = "power"\n{sensor}'
    code, _, record = burnin_run(tmp_path, HEAT.format(step=FULL), machine)
    assert code == ENDS_CONDITIONAL
    [found] = [r for r in record.readings if r.name == "own_power_share"]
    assert found.verdict in (Verdict.UNSURE, Verdict.NOT_MEASURED)
    assert found.required


def test_a_memory_at_its_idle_clock_is_unsure(tmp_path: Path) -> None:
    profile = """
format = 1
title = "Memory"

[guards]
gpu_temp_limit_c = 95.0

[[stages]]
stage = "memory"
patterns = ["solid", "own_address"]
"""
    slow = '[card]\ncooling = "air"\nmemory_clock_mhz = 405.0'
    code, told, record = burnin_run(tmp_path, profile, slow)
    assert code == ENDS_CONDITIONAL
    [found] = [r for r in record.readings if r.name == "memory_clock_share"]
    assert found.reason == MemoryReason.CLOCK_LOW(clock_mhz=405.0, most_mhz=1313.0)
    assert "405 MHz" in told
