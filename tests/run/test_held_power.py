"""Watts held on the simulated card, judged by its own energy counter as on a real one."""

from __future__ import annotations

import statistics
import tomllib
from itertools import pairwise
from pathlib import Path

import pytest

from burnin.core.events import SampleTaken
from burnin.core.reading import Verdict, known
from burnin.engine.process.dead_man_switch import PAUSE_AFTER_S
from burnin.profile.loader import LoadedProfile, parse_profile
from tests.run.driving import Ran, run_simulated, said


def ramp(*steps: tuple[float, float]) -> LoadedProfile:
    listed = ", ".join(f"{{ power_w = {w:.1f}, hold_s = {s:.1f} }}" for w, s in steps)
    text = f"""format = 1
title = "Held power"
[guards]
gpu_temp_limit_c = 90.0
[[stages]]
stage = "thermal_ramp"
steps = [{listed}]
cool_down_s = 0.0
"""
    return parse_profile("held", "held.toml", text, tomllib.loads(text))


def windows(ran: Ran, asked_w: float, skip_s: float) -> list[float]:
    """Mean power of each second of a step, from the energy counter."""
    samples = [
        e.sample
        for e in ran.events
        if isinstance(e, SampleTaken) and e.sample.load_w == asked_w
    ]
    begin_s = samples[0].elapsed_s + skip_s
    means, last = [], None
    for sample in samples:
        energy_j = known(sample.telemetry.energy_j)
        if energy_j is None or sample.elapsed_s < begin_s:
            continue
        if last is None:
            last = (sample.elapsed_s, energy_j)
        elif sample.elapsed_s - last[0] >= 1.0:
            means.append((energy_j - last[1]) / (sample.elapsed_s - last[0]))
            last = (sample.elapsed_s, energy_j)
    return means


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("asked_w", [120.0, 200.0, 300.0, 400.0])
def test_power_is_held_and_never_overshot(asked_w: float, seed: int, tmp_path: Path) -> None:
    ran = run_simulated("healthy", ramp((asked_w, 25.0)), tmp_path, seed=seed)
    rise_s = asked_w / 150.0
    settled = windows(ran, asked_w, rise_s + 5.0)
    assert statistics.mean(settled) == pytest.approx(asked_w, rel=0.01)
    assert statistics.pstdev(settled) < 0.02 * asked_w
    assert max(windows(ran, asked_w, 0.0)) <= 1.05 * asked_w


def test_steps_in_watts_are_judged(tmp_path: Path) -> None:
    ran = run_simulated("healthy", ramp((150.0, 25.0), (300.0, 25.0)), tmp_path)
    rows = {r.name: r for r in ran.record.readings}
    for number in (1, 2):
        assert rows[f"power_held_w step {number}"].verdict is Verdict.PASS
    assert "energy counter" in said(rows["power_held_w step 1"].source)


def test_more_watts_than_there_are_is_not_a_failure_of_the_card(tmp_path: Path) -> None:
    ran = run_simulated("healthy", ramp((900.0, 30.0)), tmp_path)
    rows = {r.name: r for r in ran.record.readings}
    held = rows["power_held_w step 1"]
    assert held.verdict is Verdict.NOT_MEASURED
    assert "of the 900 W asked for" in said(held.reason)


def test_a_load_is_watched_while_it_lasts_however_seldom_was_asked_for(tmp_path: Path) -> None:
    text = """format = 1
title = "Seldom read"
pace.sample_interval_s = 2.0
guards = { gpu_temp_limit_c = 90.0 }
[[stages]]
stage = "compute"
load_s = 3.0
"""
    seldom = parse_profile("seldom", "seldom.toml", text, tomllib.loads(text))
    ran = run_simulated("healthy", seldom, tmp_path)
    at_work = [s.elapsed_s for s in ran.record.samples() if s.loaded]
    apart = [after - before for before, after in pairwise(at_work)]
    assert apart
    assert max(apart) < PAUSE_AFTER_S  # without a fresh sample the worker begins no slice
