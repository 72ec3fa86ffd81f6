"""The widest link by dead lanes: rule, enumeration and simulated lanes agree."""

from __future__ import annotations

import math
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.connector.contact_map import contacts
from burnin.connector.edge_effects import edge_effects, lanes_of_width
from burnin.connector.training import widest_link
from burnin.sim.physics.contacts import ContactState, why_no_start
from burnin.sim.physics.lanes import dead_lanes, pairs, trained_lanes


def enumerated(dead: set[int], width: int, *, downwards: bool) -> int:
    """Every link of every permitted width tried lane by lane, from the end that is numbered 0."""
    lanes = list(range(width))[:: -1 if downwards else 1]
    trained = 0
    for permitted in (1, 2, 4, 8, 16):
        if permitted <= width and all(lane not in dead for lane in lanes[:permitted]):
            trained = max(trained, permitted)
    return trained


@pytest.mark.parametrize("downwards", [False, True])
def test_every_single_dead_lane_and_every_two_agree_with_an_enumeration(downwards: bool) -> None:
    faults = [{lane} for lane in range(16)] + [set(two) for two in combinations(range(16), 2)]
    assert len(faults) == 16 + 120
    for dead in faults:
        assert widest_link(dead, reversed_=downwards) == enumerated(dead, 16, downwards=downwards)


@given(
    dead=st.sets(st.integers(0, 15)),
    width=st.sampled_from([1, 2, 4, 8, 16]),
    downwards=st.booleans(),
)
def test_any_dead_lanes_agree_with_an_enumeration(
    dead: set[int], width: int, downwards: bool
) -> None:
    found = widest_link(dead, width, reversed_=downwards)
    assert found == enumerated(dead, width, downwards=downwards)
    assert widest_link(dead | {0}, width) == 0


def test_lanes_that_leave_the_same_width() -> None:
    # MindShare, PCI Express Technology, p. 561: with lane 2 dead, x2 is the most.
    assert lanes_of_width(2) == [2, 3]
    assert lanes_of_width(8) == list(range(8, 16))
    assert sorted(lane for w in (0, 1, 2, 4, 8) for lane in lanes_of_width(w)) == list(range(16))


def simulated_width(name: str, state: ContactState, *, needs_presence: bool = False) -> int:
    states = {name: state}
    if why_no_start(states, 16, needs_presence):
        return 0
    dead = dead_lanes(pairs(states, 16), "each_leg")
    return len(trained_lanes(dead, 16, False))


@pytest.mark.parametrize("name", sorted(contacts()))
def test_map_and_simulated_machine_agree_on_an_open_contact(name: str) -> None:
    effect = edge_effects(name)[0]
    told = 16 if effect.width_lanes is None else effect.width_lanes
    found = simulated_width(name, ContactState(math.inf))
    assert found == told
    assert ("enumeration" in effect.stages) >= (found == 0)
    assert ("link" in effect.stages) >= (0 < found < 16)


@pytest.mark.parametrize(
    "name",
    # A short of standby power stops the bench, which the simulated one does not model; a ground
    # contact can only be bridged to its neighbours.
    sorted(n for n, c in contacts().items() if c.group not in ("ground", "power_3v3aux")),
)
def test_map_and_simulated_machine_agree_on_a_short_to_ground(name: str) -> None:
    effect = edge_effects(name)[2]
    told = 16 if effect.width_lanes is None else effect.width_lanes
    assert simulated_width(name, ContactState(shorted=True)) == told


def test_a_slot_switched_by_presence_misses_the_card_where_the_map_says_so() -> None:
    for name, contact in contacts().items():
        if contact.group == "presence_detect":
            gone = simulated_width(name, ContactState(math.inf), needs_presence=True) == 0
            assert ("enumeration" in edge_effects(name)[0].stages) == gone
