"""The further scenarios, one for a cause each: the verdict that arises from the stages it shows in.

Only the stages that may show the cause are run; all others are left out, which alone would make a
run conditional.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from burnin.sim.scenario.model import cause_scenario_names
from tests.run.driving import run_simulated

STAGES = {"enumeration", "display", "link", "memory", "compute", "thermal_ramp"}
ROWS = [
    # scenario, stages run, verdict, part of the reason
    ("cracked_capacitor", {"link"}, "fail", "8 of 16 lanes"),
    ("touching_contacts", {"link"}, "fail", "2 of 16 lanes"),
    ("half_wired_slot", {"link"}, "fail", "8 of 16 lanes"),
    ("held_speed", {"link"}, "fail", "8 of 16 GT/s"),
    ("long_riser", {"link"}, "fail", "8 of 16 GT/s"),
    ("intermittent_contact", {"thermal_ramp", "link"}, "fail", "4 of 16 lanes"),
    ("few_supply_contacts", {"thermal_ramp"}, "aborted", "stopped answering"),
    ("damaged_edid", {"display"}, "fail", "EDID damaged"),
    ("bouncing_output", {"display"}, "fail", "was lost"),
    ("dark_output", {"display"}, "conditional", "try another cable"),
    ("silent_chip", {"memory"}, "fail", "failing words"),
    ("warm_memory_line", {"compute", "memory"}, "fail", "bit 19 flipped"),
    ("weak_core", {"compute"}, "fail", "results differed"),
    ("hung_driver", {"thermal_ramp"}, "aborted", "did not answer the driver"),
    ("lying_sensor", {"thermal_ramp"}, "aborted", "hot spot"),
    ("poor_paste", {"thermal_ramp"}, "aborted", "hot spot"),
]
UNJUDGED = {
    # Recorded and judged only where a profile says what must be: ids, a power that is reached.
    "wrong_firmware", "missing_sense",
}  # fmt: skip


@pytest.mark.parametrize(("name", "stages", "verdict", "reason"), ROWS)
def test_a_cause_leads_to_its_verdict(
    name: str, stages: set[str], verdict: str, reason: str, tmp_path: Path
) -> None:
    ran = run_simulated(name, "desktop_air", tmp_path, left_out=frozenset(STAGES - stages))
    assert ran.outcome.verdict == verdict
    assert reason in ran.outcome.reason


def test_every_further_scenario_is_tried_or_named_as_unjudged() -> None:
    assert set(cause_scenario_names()) == {row[0] for row in ROWS} | UNJUDGED
