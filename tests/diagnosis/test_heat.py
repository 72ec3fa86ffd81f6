"""Heat is laid to the part of the cooler whose numbers moved."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.diagnosis.heat.explain_heat import Estimate, HeatCause, HeatLook, explain_heat, told

GOOD = {
    "die_to_block": Estimate(0.044, 0.004),
    "block_to_room": Estimate(0.064, 0.006),
    "die_to_hotspot": Estimate(0.027, 0.003),
}
SOUND = HeatLook(
    power_w=450.0, gpu_c=71.0, resistances=GOOD, known_good=GOOD, fans_rpm=(2800.0, 2810.0),
    room_c=22.0, slowness=1.0, hotspot_over_gpu_k=12.0,
)  # fmt: skip


def moved(**times: float) -> HeatLook:
    """The sound cooler with resistances so many times as large."""
    found = {
        name: Estimate(e.k_per_w * times.get(name, 1.0), e.u_k_per_w) for name, e in GOOD.items()
    }
    return replace(SOUND, resistances=found)


def first(look: HeatLook) -> HeatCause:
    return explain_heat(look)[0].cause


def test_a_sound_cooler_is_nothing_to_tell() -> None:
    assert first(SOUND) is HeatCause.SOUND
    assert told(explain_heat(SOUND)) == ()


@pytest.mark.parametrize(
    ("look", "cause"),
    [
        (moved(die_to_block=2.8, die_to_hotspot=1.4), HeatCause.MOUNT),
        (moved(die_to_hotspot=2.4, die_to_block=1.15), HeatCause.PASTE),
        (moved(block_to_room=1.8), HeatCause.FINS),
        (replace(moved(block_to_room=1.8), slowness=2.6), HeatCause.FLOW),
        (replace(moved(block_to_room=1.5), fans_rpm=(2800.0, 0.0)), HeatCause.FAN),
        (replace(SOUND, fan_stood=True), HeatCause.FAN),
        (replace(SOUND, room_c=38.0), HeatCause.ROOM),
        (replace(moved(block_to_room=20.0), water=True, fans_rpm=()), HeatCause.DRY),
        (replace(SOUND, hotspot_over_gpu_k=-9.0), HeatCause.SENSOR),
    ],
)
def test_the_part_whose_numbers_moved_is_named(look: HeatLook, cause: HeatCause) -> None:
    # Resistances in series: JEDEC JESD51-1 defines each by the rise over its own power.
    assert first(look) is cause


@given(
    times=st.fixed_dictionaries({name: st.floats(0.01, 100.0) for name in GOOD}),
    rpm=st.lists(st.floats(0.0, 9000.0), max_size=3),
    room=st.none() | st.floats(-40.0, 90.0),
    power=st.floats(0.1, 2000.0),
    water=st.booleans(),
)
def test_probabilities_add_up_whatever_was_read(
    times: dict[str, float], rpm: list[float], room: float | None, power: float, water: bool
) -> None:
    look = replace(
        moved(**times), fans_rpm=tuple(rpm), room_c=room, power_w=power, water=water, known_good={}
    )
    found = explain_heat(look)
    assert sum(s.probability for s in found) == pytest.approx(1.0)
    assert [s.probability for s in found] == sorted((s.probability for s in found), reverse=True)
