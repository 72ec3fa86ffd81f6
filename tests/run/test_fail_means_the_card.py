"""Law 15 over all scenarios: whose fault it is decides, and what the bench had shown before."""

from __future__ import annotations

import re
from importlib import resources
from pathlib import Path

import pytest

from burnin.core.verdict import RunVerdict
from burnin.sim.scenario.model import cause_scenario_names, scenario_names
from tests.long import few_short
from tests.run.driving import Ran, run_simulated

FAIL, ABORTED, CONDITIONAL = RunVerdict.FAIL, RunVerdict.ABORTED, RunVerdict.CONDITIONAL
PROFILES = {
    "no_coolant": "water_loop",
    "cracked_rail_capacitors": "desktop_all_at_once",
    **dict.fromkeys(("opens_by_touch", "warm_joint"), "repaired_joint"),
}
BENCH_AT_FAULT = ("half_wired_slot", "held_speed", "long_riser", "lying_sensor")
"""Slot, set-up, riser and sensor: the card is never failed for them."""
CHANGED_SINCE = {"long_riser"}
"""No known-good card was ever carried by that riser: a proof from before it was put in speaks of
another bench, and has to be forgotten (`burnin bench forget`). A proof that is kept in spite of
that rules the riser out, and the card is failed."""
ON_A_PROVEN_BENCH = {
    **dict.fromkeys(("narrow_link", "slow_link_under_load", "dead_output", "no_coolant"), FAIL),
    **dict.fromkeys(("cracked_capacitor", "touching_contacts", "intermittent_contact"), FAIL),
    **dict.fromkeys(("damaged_edid", "bouncing_output", "dark_output"), FAIL),
    "cracked_rail_capacitors": FAIL,
    **dict.fromkeys(("stuck_memory", "silent_chip", "warm_memory_line", "weak_core"), FAIL),
    **dict.fromkeys(("opens_by_touch", "warm_joint"), FAIL),
    **dict.fromkeys(("fan_stall", "falls_off_bus", "few_supply_contacts", "poor_paste"), ABORTED),
}
"""How scenarios end whose cause is the card, where known-good cards have shown the bench."""
CARD_ON_ANY_BENCH = {
    *("stuck_memory", "silent_chip", "warm_memory_line", "weak_core"), "warm_joint",
}  # fmt: skip
"""Memory and arithmetic are the card's own: no bench makes a stuck bit. Nor does it make what two
probes on the card find between them."""
SHORT = {"half_wired_slot"}


def scenario(name: str, folder: Path, *, proven: bool) -> str:
    """The scenario with a bench that is said to be proven, or not."""
    folders = [resources.files("burnin.sim") / f for f in ("scenarios", "cause_scenarios")]
    files = [file for f in folders if (file := f / f"{name}.toml").is_file()]
    text = re.sub(r"(?m)^bench_proven.*\n", "", files[0].read_text("utf-8"))
    said = f"[bench]\nbench_proven = {str(proven).lower()}\n"
    text = text.replace("[bench]\n", said, 1) if "[bench]\n" in text else text.replace(
        "[card]\n", f"{said}\n[card]\n", 1
    )
    there = folder / f"{name}.toml"
    there.write_text(text, "utf-8")
    return str(there)


def ran(name: str, folder: Path, *, proven: bool) -> Ran:
    profile = PROFILES.get(name, "desktop_air")
    return run_simulated(scenario(name, folder, proven=proven), profile, folder / "results")


@pytest.mark.parametrize("name", few_short(sorted(ON_A_PROVEN_BENCH), SHORT))
def test_a_fault_of_the_card_fails_on_a_proven_bench_and_waits_on_an_unproven_one(
    name: str, tmp_path: Path
) -> None:
    as_before = ON_A_PROVEN_BENCH[name]
    assert ran(name, tmp_path, proven=True).outcome.verdict is as_before
    waits = FAIL if name in CARD_ON_ANY_BENCH else CONDITIONAL if as_before is FAIL else ABORTED
    assert ran(name, tmp_path, proven=False).outcome.verdict is waits


@pytest.mark.long
@pytest.mark.parametrize("name", sorted(BENCH_AT_FAULT))
def test_a_fault_of_the_bench_never_fails_the_card(name: str, tmp_path: Path) -> None:
    for proven in (False,) if name in CHANGED_SINCE else (True, False):
        assert ran(name, tmp_path, proven=proven).outcome.verdict in (CONDITIONAL, ABORTED)


def test_every_scenario_has_its_place_here_or_is_told_why_not() -> None:
    healthy = {name for name in scenario_names() if name.startswith("healthy")}
    by_the_kernel = {"driver_resets", "gpu_fault", "link_bounces", "hung_driver"}
    recorded_only = {"wrong_firmware", "missing_sense", "one_fan_stands"}
    assert {*scenario_names(), *cause_scenario_names()} == (
        healthy | by_the_kernel | recorded_only | set(BENCH_AT_FAULT) | set(ON_A_PROVEN_BENCH)
    )
