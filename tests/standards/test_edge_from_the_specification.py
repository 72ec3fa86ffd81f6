"""The contact map against the edge as it is printed, written down here contact by contact.

PCI Express Card Electromechanical Specification, pin list, as Wikipedia's table "PCI Express" gives
it. Nothing here reads the package's own table, nor needs anything installed.
"""

from __future__ import annotations

import pytest

from burnin.connector.contact_map import LAST_CONTACT, contacts, is_short, on_connector
from burnin.sim.physics.contacts import ContactState
from burnin.sim.physics.lanes import pairs

# First of the two contacts of lanes 0 to 15: the port transmits on side B, the card on side A.
FIRST_OF_LANE_B = (14, 19, 23, 27, 33, 37, 41, 45, 50, 54, 58, 62, 66, 70, 74, 78)
FIRST_OF_LANE_A = (16, 21, 25, 29, 35, 39, 43, 47, 52, 56, 60, 64, 68, 72, 76, 80)
NO_LANES_B = """1 +12V; 2 +12V; 3 +12V; 4 GND; 5 SMCLK; 6 SMDAT; 7 GND; 8 +3.3V; 9 TRST#;
10 +3.3Vaux; 11 WAKE#; 12 CLKREQ#; 13 GND; 16 GND; 17 PRSNT2#; 18 GND; 30 PWRBRK#; 31 PRSNT2#;
48 PRSNT2#; 81 PRSNT2#; 82 RSVD"""
NO_LANES_A = """1 PRSNT1#; 2 +12V; 3 +12V; 4 GND; 5 TCK; 6 TDI; 7 TDO; 8 TMS; 9 +3.3V; 10 +3.3V;
11 PERST#; 12 GND; 13 REFCLK+; 14 REFCLK-; 15 GND; 19 RSVD; 32 RSVD; 33 RSVD; 50 RSVD"""


def printed() -> dict[str, str]:
    """Signal by contact; what no line above names is ground."""
    found = {f"{side}{number}": "GND" for side in "AB" for number in range(1, 83)}
    for side, text in (("B", NO_LANES_B), ("A", NO_LANES_A)):
        for entry in text.split(";"):
            number, signal = entry.split()
            found[f"{side}{number}"] = signal
    for side, letter, firsts in (("B", "T", FIRST_OF_LANE_B), ("A", "R", FIRST_OF_LANE_A)):
        for lane, first in enumerate(firsts):
            found[f"{side}{first}"] = f"PE{letter}p{lane}"
            found[f"{side}{first + 1}"] = f"PE{letter}n{lane}"
    return found


def test_every_contact_carries_what_is_printed() -> None:
    ours = {name: contact.signal for name, contact in contacts().items()}
    assert ours == printed()
    assert len(ours) == 164


@pytest.mark.parametrize("lane", range(16))
def test_each_lane_lies_where_it_is_printed(lane: int) -> None:
    for group, side, first, direction in (
        ("lane_rx", "B", FIRST_OF_LANE_B[lane], "in"),
        ("lane_tx", "A", FIRST_OF_LANE_A[lane], "out"),
    ):
        for number, polarity in ((first, "p"), (first + 1, "n")):
            contact = contacts()[f"{side}{number}"]
            told = (contact.group, contact.lane, contact.polarity, contact.direction)
            assert told == (group, lane, polarity, direction)


def test_each_width_ends_where_it_is_printed() -> None:
    assert LAST_CONTACT == {1: 18, 4: 32, 8: 49, 16: 82}
    for width, last in ((1, 18), (4, 32), (8, 49), (16, 82)):
        there = {c.name for c in contacts().values() if on_connector(c, width)}
        assert there == {f"{side}{n}" for side in "AB" for n in range(1, last + 1)}


def test_presence_contacts_are_where_they_are_printed_and_short() -> None:
    found = [c.name for c in contacts().values() if c.group == "presence_detect"]
    assert found == ["A1", "B17", "B31", "B48", "B81"]
    assert [name for name in found if is_short(name)] == ["A1", "B81"]


@pytest.mark.parametrize("lane", range(16))
def test_a_broken_contact_breaks_the_simulated_lane_that_is_printed_beside_it(lane: int) -> None:
    """The simulated link takes its lanes from the same map: here from the printed numbers."""
    broken = ContactState(float("inf"))
    for name, end in (
        (f"B{FIRST_OF_LANE_B[lane]}", "card"), (f"A{FIRST_OF_LANE_A[lane] + 1}", "port"),
    ):  # fmt: skip
        hurt = [p for p in pairs({name: broken}, 16) if broken in p.legs]
        assert [(p.lane, p.end_that_sees) for p in hurt] == [(lane, end)]
