"""Ends of real ramps, judged from their rows as a run judges them today: sound, hence at rest."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from burnin.core.reading import NotMeasured, Reading, Verdict
from burnin.core.sample import Resolution, Sample
from burnin.record.reader import read_record
from burnin.stages.thermal_ramp.ramp_trace import RampTrace
from burnin.stages.thermal_ramp.settings import ThermalRamp
from burnin.stages.thermal_ramp.settled_readings import judge_resistance, judge_steady

WHOLE_RAMPS = ("compute_card_cuda", "compute_card_link_errors", "compute_card_whole")
"""Their last step stood for 90 s at full work."""


def ramp_of(folder: Path) -> tuple[RampTrace, ThermalRamp]:
    """The ramp of a record, step by step: where its share of work was one of its profile's."""
    record = read_record(folder)
    stages = tomllib.loads(record.run.profile.text)["stages"]
    [said] = [stage for stage in stages if stage["stage"] == "thermal_ramp"]
    settings = ThermalRamp.model_validate_json(json.dumps(said))
    trace, share = RampTrace(cut=None), 0.0
    idle: Sample | None = None
    for sample in record.samples():
        if not sample.stage.endswith("thermal_ramp"):
            continue
        if not sample.loaded and not trace.steps:
            idle = sample
            continue
        if sample.load_share not in {step.load_share for step in settings.steps or ()}:
            continue
        if sample.load_share != share:
            share = sample.load_share
            trace.begin_step()
        trace.add(sample)
    assert idle is not None
    power_w, temp_c = idle.telemetry.power_w, idle.telemetry.gpu_temp_c
    assert not isinstance(power_w, NotMeasured)
    assert not isinstance(temp_c, NotMeasured)
    trace.idle_power_w, trace.start_temp_c = power_w, temp_c
    return trace, settings


def ends_of(folder: Path) -> Iterator[Reading]:
    """How far from rest it ended, and its thermal resistance."""
    trace, settings = ramp_of(folder)
    yield from judge_steady(trace, settings, Resolution())
    yield judge_resistance(trace, settings, Resolution())


@pytest.mark.parametrize("name", WHOLE_RAMPS)
def test_a_sound_card_in_moving_air_passes_what_is_asked_of_a_ramps_end(
    data: Path, name: str
) -> None:
    """Two of them fall by 1.5 and 2.6 K in their last minute, as their hosts move more air."""
    found = {one.name: one for one in ends_of(data / "records" / name)}
    assert found["left_to_rise_k"].verdict is Verdict.PASS
    assert found["thermal_resistance_k_per_w"].verdict is Verdict.PASS
    drift_k = found["drift_k"]
    assert not drift_k.required
    assert isinstance(drift_k.value, float)
    assert drift_k.value < 0.5


def test_a_step_that_is_too_short_tells_nothing_of_its_end(data: Path) -> None:
    found = {one.name: one for one in ends_of(data / "records" / "compute_card_vulkan")}
    for name in ("left_to_rise_k", "thermal_resistance_k_per_w"):
        assert found[name].verdict is Verdict.NOT_MEASURED
