from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.connector.contact_map import contacts, on_connector
from burnin.sim.physics.contacts import ContactState
from burnin.sim.physics.lanes import (
    Pair,
    bit_error_ratio,
    dead_lanes,
    margin_db,
    pairs,
    trained_lanes,
)

OPEN = ContactState(math.inf)


def enumerated_width(dead: set[int], width: int, reversal: bool) -> int:
    """Every assignment of consecutive link lanes 0.. to physical lanes, tried one by one."""
    best = 0
    for step in (1, -1) if reversal else (1,):
        lane, count = (0, 0) if step == 1 else (width - 1, 0)
        while 0 <= lane < width and lane not in dead:
            lane, count = lane + step, count + 1
        for permitted in (1, 2, 4, 8, 16):
            if permitted <= count:
                best = max(best, permitted)
    return best


@given(
    dead=st.sets(st.integers(0, 15)), width=st.sampled_from([1, 2, 4, 8, 16]), turn=st.booleans()
)
def test_width_agrees_with_an_enumeration(dead: set[int], width: int, turn: bool) -> None:
    lanes = trained_lanes(dead, width, turn)
    assert len(lanes) == enumerated_width(dead, width, turn)
    assert not set(lanes) & dead
    assert all(0 <= lane < width for lane in lanes)


# Widest link with one dead lane, without and with reversal; worked out by hand from the rules
# that lanes number from 0 without a gap (PCI Express Base Specification, 4.2, second hand).
@pytest.mark.parametrize(
    ("dead", "forward", "reversed_"),
    [(0, 0, 8), (1, 1, 8), (2, 2, 8), (3, 2, 8), (4, 4, 8), (7, 4, 8), (8, 8, 4), (11, 8, 4),
     (12, 8, 2), (13, 8, 2), (14, 8, 1), (15, 8, 0)],
)  # fmt: skip
def test_one_dead_lane(dead: int, forward: int, reversed_: int) -> None:
    assert len(trained_lanes({dead}, 16, False)) == forward
    assert len(trained_lanes({dead}, 16, True)) == max(forward, reversed_)


def test_each_lane_contact_kills_its_own_lane_and_no_other() -> None:
    for contact in contacts().values():
        dead = dead_lanes(pairs({contact.name: OPEN}, 16), "each_leg")
        assert dead == (frozenset() if contact.lane is None else frozenset({contact.lane}))


def test_errors_are_seen_at_the_receiving_end() -> None:
    for name, end in (("A35", "port"), ("B33", "card")):
        hurt = [p for p in pairs({name: OPEN}, 16) if p.legs != (ContactState(), ContactState())]
        assert [(p.lane, p.end_that_sees) for p in hurt] == [(4, end)]


def test_one_open_leg_where_the_mean_is_judged_trains_slowly_and_fails_equalisation() -> None:
    # Common practice, no source: single-ended it still runs at 2.5 GT/s and not at 8 GT/s.
    pair = Pair(0, "card", (OPEN, ContactState()))
    assert pair.detected("common_mode")
    assert not pair.detected("each_leg")
    assert margin_db(pair, 1) > 0.0
    assert margin_db(pair, 3) < -2.0


@given(one=st.floats(0.0, 500.0), more=st.floats(0.1, 500.0), generation=st.integers(1, 5))
def test_more_resistance_never_widens_the_eye(one: float, more: float, generation: int) -> None:
    weak = Pair(0, "card", (ContactState(one), ContactState()))
    weaker = Pair(0, "card", (ContactState(one + more), ContactState()))
    assert margin_db(weaker, generation) < margin_db(weak, generation)
    assert margin_db(weak, generation) <= margin_db(weak, max(1, generation - 1))


def test_margin_zero_is_one_error_in_a_million_million_bits() -> None:
    assert bit_error_ratio(0.0) == pytest.approx(1e-12, rel=0.01)
    assert bit_error_ratio(3.0) < 1e-20
    assert bit_error_ratio(-math.inf) == 0.5


def test_the_map_holds_what_the_connector_has() -> None:
    # Counts of the x16 edge: 68 ground, 64 lane contacts, 5 of 12 V, 5 of presence detect.
    found = contacts()
    assert len(found) == 164
    groups = [contact.group for contact in found.values()]
    counts = {group: groups.count(group) for group in set(groups)}
    assert counts["ground"] == 68
    assert counts["lane_rx"] == counts["lane_tx"] == 32
    assert counts["power_12v"] == counts["presence_detect"] == 5
    assert found["B54"].lane == 9
    assert on_connector(found["B49"], 8)
    assert not on_connector(found["B50"], 8)
