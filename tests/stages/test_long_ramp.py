"""A ramp of hours keeps few of its samples, and says the same of them."""

from __future__ import annotations

import pytest

from burnin.core.sample import Sample, Telemetry
from burnin.stages.thermal_ramp import ramp_trace
from burnin.stages.thermal_ramp.ramp_trace import RampTrace


def trace(count: int) -> RampTrace:
    found = RampTrace(idle_power_w=20.0)
    found.begin_step()
    for n in range(count):
        told = Telemetry(power_w=120.0, gpu_temp_c=40.0 + n / count, fan_rpm=900.0, fan_pct=50.0)
        found.add(Sample(0.05 * n, "", "x", told, 1.0))
    return found


def test_a_long_step_keeps_evenly_spaced_samples_and_its_sums(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    whole = trace(5000)
    monkeypatch.setattr(ramp_trace, "MOST_KEPT", 100)
    few = trace(5000)
    [kept] = few.steps
    assert 50 <= len(kept) <= 101
    assert kept[-1].elapsed_s == whole.steps[0][-1].elapsed_s
    assert few.energy_j == pytest.approx(whole.energy_j)
    assert few.loaded_s == whole.loaded_s
    assert few.sample_every_s == pytest.approx(0.05)
    assert few.peaks == whole.peaks
