"""A power in watts that follows a share of work: what that work drew is not taken for rest."""

from __future__ import annotations

from pathlib import Path

import pytest

from burnin.core.reading import Verdict
from tests.run.driving import run_simulated
from tests.run.ramps import figure, ramp_profile, readings

STEPS = """steps = [
  { load_share = 0.9, hold_s = 15.0 },
  { power_w = 160.0, hold_s = 20.0 },
  { power_w = 260.0, hold_s = 20.0 },
]
cool_down_s = 5.0"""


@pytest.mark.parametrize("scenario", ["healthy", "healthy_compute"])
def test_watts_are_held_after_a_share_of_work(scenario: str, tmp_path: Path) -> None:
    ran = run_simulated(scenario, ramp_profile("fans", STEPS), tmp_path / "results")
    told = readings(ran)
    for number, power_w in ((2, 160.0), (3, 260.0)):
        held = told[f"power_held_w step {number}"]
        assert held.verdict is Verdict.PASS, held
        assert figure(held) == pytest.approx(power_w, rel=0.02)
