"""A mount or an air way four times worse, on the simulated machine: never called healthy."""

from __future__ import annotations

from pathlib import Path

import pytest

import burnin.sim.scenarios as scenarios
from burnin.core.verdict import RunVerdict
from burnin.thermal.states import HEALTHY
from tests.run.driving import run_simulated

CARDS = (
    ("healthy", "desktop_air"), ("healthy_loop", "water_loop"),
    ("healthy_compute", "passive_compute"),
)  # fmt: skip


@pytest.mark.long
@pytest.mark.parametrize("kind", ["mount", "airflow"])
@pytest.mark.parametrize(("scenario", "profile"), CARDS)
def test_four_times_worse_is_no_pass_and_not_healthy(
    scenario: str, profile: str, kind: str, tmp_path: Path
) -> None:
    sound = (Path(scenarios.__path__[0]) / f"{scenario}.toml").read_text(encoding="utf-8")
    worse = tmp_path / f"worse_{scenario}.toml"
    text = sound.replace(f'name = "{scenario}"', f'name = "worse_{scenario}"', 1)
    cause = f'\n[[causes]]\nkind = "{kind}"\nresistance_factor = 4.0\n'
    worse.write_text(text + cause, encoding="utf-8")
    ran = run_simulated(str(worse), profile, tmp_path / "results")
    assert ran.outcome.verdict in (RunVerdict.FAIL, RunVerdict.ABORTED)
    told = [r.value for r in ran.record.all_readings if r.name == "cooling_state"]
    assert not {str(state) for state in HEALTHY} & set(told)
