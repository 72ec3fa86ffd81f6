"""Trained width for every dead lane and every two dead lanes, against an enumeration.

The enumeration knows only this: link lane 0 must lie on an outer lane (the first, or where lanes
may be reversed the last), link lanes follow each other without a gap, a link has 1, 2, 4, 8 or 16
lanes (PCI Express Base Specification, 4.2, second hand: MindShare, ch. 14).
"""

from __future__ import annotations

from itertools import combinations

import pytest

from burnin.connector.contact_map import Contact, contacts
from burnin.sim.physics.contacts import ContactState
from burnin.sim.physics.link import Link
from tests.sim.machines import with_causes

OPEN = ContactState(float("inf"))
SINGLES = [(lane,) for lane in range(16)]
PAIRS = list(combinations(range(16), 2))


def enumerated(dead: tuple[int, ...], width: int, reversal: bool) -> int:
    """The widest of all ways to lay link lanes onto physical lanes."""
    ways = []
    for count in (1, 2, 4, 8, 16):
        if count > width:
            continue
        ways.append([(link, link) for link in range(count)])
        if reversal:
            ways.append([(link, width - 1 - link) for link in range(count)])
    sound = [way for way in ways if not any(physical in dead for _, physical in way)]
    return max((len(way) for way in sound), default=0)


def contact_of(lane: int, group: str) -> Contact:
    return next(c for c in contacts().values() if (c.group, c.lane) == (group, lane))


@pytest.mark.parametrize("reversal", [False, True])
@pytest.mark.parametrize("base", ["healthy", "healthy_x8"])
def test_width_of_every_lane_and_every_two_lanes(base: str, reversal: bool) -> None:
    scenario = with_causes(base, lane_reversal=reversal)
    width = scenario.card.width_lanes
    link = Link(scenario, 1)
    for dead in SINGLES + PAIRS:
        inside = tuple(lane for lane in dead if lane < width)
        for groups in (("lane_rx", "lane_tx"), ("lane_tx", "lane_rx")):
            states = {
                contact_of(lane, group).name: OPEN
                for lane, group in zip(inside, groups, strict=False)
            }
            link.train(states)
            assert link.width_lanes == enumerated(inside, width, reversal), dead


@pytest.mark.parametrize("wired", [1, 2, 4, 8])
def test_a_slot_with_fewer_lanes_wired_than_its_port_says(wired: int) -> None:
    scenario = with_causes("healthy", slot_width_lanes=wired, port_width_lanes=16)
    link = Link(scenario, 1)
    link.train({})
    assert link.width_lanes == wired


def test_each_side_is_detected_by_its_own_transmitter() -> None:
    # The port transmits side B, the card side A (Wikipedia, "PCI Express", pin table).
    for lane in range(16):
        for group, judged_by in (("lane_rx", "port"), ("lane_tx", "card")):
            content = with_causes("healthy", receiver_detect="common_mode")
            one_leg = {contact_of(lane, group).name: OPEN}
            for strict in ("port", "card"):
                scenario = content.model_copy(
                    update={
                        "bench": content.bench.model_copy(
                            update={"receiver_detect": _how(strict == "port")}
                        ),
                        "card": content.card.model_copy(
                            update={"receiver_detect": _how(strict == "card")}
                        ),
                    }
                )
                link = Link(scenario, 1)
                link.train(one_leg)
                if strict == judged_by:
                    assert link.width_lanes == enumerated((lane,), 16, False)
                else:
                    assert (link.width_lanes, link.generation <= 2) == (16, True)


def _how(strict: bool) -> str:
    return "each_leg" if strict else "common_mode"
