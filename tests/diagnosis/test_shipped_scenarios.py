"""Every scenario that the tool ships is explained: its true cause is among the first two told."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from burnin.core.meaning import Meaning
from burnin.core.verdict import RunVerdict
from burnin.diagnosis.explain import explain_record
from burnin.diagnosis.explanation import Answer, Explanation
from burnin.sim.scenario.model import cause_scenario_names, scenario_names
from tests.long import few_short
from tests.report.test_german_sheets import PROFILES, SHORT
from tests.run.shared_runs import SharedRuns

TRUE: dict[str, set[str]] = {
    "dead_output": {"output_hot_plug_contact"},
    "bouncing_output": {"output_hot_plug_contact"},
    "damaged_edid": {"output_data_channel_poor", "output_data_channel_open"},
    "dark_output": {"output_picture_lanes"},
    "falls_off_bus": {"start_joint", "start_power_path"},
    "few_supply_contacts": {"start_power_path"},
    "fan_stall": {"heat_fan"},
    "one_fan_stands": {"heat_fan"},
    "poor_paste": {"heat_paste"},
    "no_coolant": {"heat_dry"},
    "narrow_link": {"fault_contact"},
    "slow_link_under_load": {"fault_contact"},
    "intermittent_contact": {"fault_contact"},
    "touching_contacts": {"fault_pair", "fault_contact"},
    "cracked_capacitor": {"fault_contact", "fault_capacitor"},
    "held_speed": {"fault_host_speed"},
    "long_riser": {"fault_riser"},
    "link_bounces": {"moment_opens"},
    "opens_by_touch": {"moment_opens"},
    "warm_joint": {"supply_fault_joint"},
    "stuck_memory": {"memory_fault_cells"},
    "silent_chip": {"memory_fault_chip"},
    "warm_memory_line": {"memory_fault_data_line", "memory_fault_heat"},
    "weak_core": {"compute_chip"},
    "cracked_rail_capacitors": {"compute_supply"},
    "driver_resets": {"party_driver"},
    "hung_driver": {"party_driver"},
    "gpu_fault": {"party_driver"},
    "half_wired_slot": {"fault_slot_wiring"},
    "missing_sense": {"supply_fault_any_sense", "supply_fault_sense"},
    "lying_sensor": {"party_sensor", "heat_sensor"},
}


def first_two(found: Explanation) -> Iterator[Meaning]:
    """The first two causes of each part of the answer, as it lists them."""
    for ranked in found.ranked[:1]:
        yield from (group.cause for group in ranked.groups[:2])
    for output in dict.fromkeys(suspect.output for suspect in found.outputs):
        yield from [s.cause for s in found.outputs if s.output == output][:2]
    for part in found.parts:
        yield from (cause for cause, _ in part.causes[:2])
    for _, why in found.evidence.deciding:
        parties = why["parties"]
        assert isinstance(parties, tuple)
        yield from (party for party in parties[:2] if isinstance(party, Meaning))


@pytest.mark.parametrize(
    "name", few_short(dict.fromkeys((*scenario_names(), *cause_scenario_names())), SHORT)
)
def test_the_true_cause_is_among_the_first_two(name: str, shared_runs: SharedRuns) -> None:
    ran = shared_runs.run(name, PROFILES.get(name, "desktop_air"))
    found = explain_record(ran.folder)
    # Firmware of another card is told by a profile that names its card's identities alone.
    if name.startswith("healthy") or ran.outcome.verdict is RunVerdict.PASS:
        assert found.answer is Answer.NOTHING_TO_EXPLAIN
        return
    assert found.answer is Answer.EXPLAINED
    told = {meaning.code for meaning in first_two(found)}
    assert told & TRUE[name], told
