"""From typed names to contacts; what does not exist gets the nearest that does."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.connector.contact_map import contacts
from burnin.connector.finding import (
    contacts_of_group,
    contacts_of_lane,
    find_contacts,
    find_marks,
    groups,
)
from burnin.connector.other_connectors import plug_contacts
from burnin.core.errors import BadInput
from tests.refusals import refused


@pytest.mark.parametrize(
    ("typed", "nearest"),
    [
        ("B83", "B82"), ("A0", "A1"), ("C1", "B1"), ("82B", "B82"), ("A999", "A82"),
        ("8pin/9", "8pin/8"), ("dp/0", "dp/1"), ("12v2x6/S5", "12v2x6/S4"), ("usbc/C1", "usbc/B1"),
        ("DP-18", "dp/18"), ("hdmi19", "hdmi/19"),
    ],
)  # fmt: skip
def test_unknown_contact_names_the_nearest(typed: str, nearest: str) -> None:
    with refused(BadInput, match=rf"{re.escape(typed)}: .*nearest: {re.escape(nearest)}$"):
        find_contacts(typed)


def test_contacts_are_found_in_any_case() -> None:
    assert [c.name for c in find_contacts(" b82 ")] == ["B82"]
    assert [c.name for c in find_contacts("12V2X6/s3")] == ["12v2x6/S3"]
    assert len(find_contacts("HDMI")) == 19


@given(st.text(max_size=12))
def test_any_text_is_a_contact_or_a_clear_error(text: str) -> None:
    try:
        found = find_contacts(text)
    except BadInput:
        found = ()
        assert text.strip().upper() not in contacts()
    assert all(c.name in contacts() or c.name in plug_contacts() for c in found)


@pytest.mark.parametrize(("lane", "nearest"), [(16, 15), (-1, 0), (31, 15)])
def test_unknown_lane_names_the_nearest(lane: int, nearest: int) -> None:
    with refused(BadInput, match=rf"lanes 0 to 15; nearest: {nearest}$"):
        contacts_of_lane(lane)


def test_each_lane_has_two_pairs() -> None:
    for lane in range(16):
        found = contacts_of_lane(lane)
        assert sorted((c.group, c.polarity) for c in found) == [
            ("lane_rx", "n"), ("lane_rx", "p"), ("lane_tx", "n"), ("lane_tx", "p"),
        ]  # fmt: skip


def test_groups_by_their_beginning() -> None:
    assert [c.name for c in contacts_of_group("presence")] == ["A1", "B17", "B31", "B48", "B81"]
    assert {c.group for c in contacts_of_group("lane")} == {"lane_tx", "lane_rx"}
    assert [c.name for c in contacts_of_group("hot-plug")] == ["dp/18", "hdmi/19"]
    assert len({c.name for group in groups() for c in contacts_of_group(group)}) == 164 + 30 + 63


def test_unknown_group_names_the_nearest_and_all() -> None:
    with refused(BadInput, match=r"nearest: presence_detect; all: .*ground"):
        contacts_of_group("presense")
    with refused(BadInput, match="there is none; all: "):
        contacts_of_group("")


def test_marks_must_be_known_and_on_the_edge() -> None:
    assert find_marks({"b81": "damaged"}) == {"B81": "damaged"}
    with refused(BadInput, match="mark 'burnt' is none of damaged"):
        find_marks({"B81": "burnt"})
    with refused(BadInput, match="only contacts of the edge"):
        find_marks({"dp/18": "damaged"})
    with refused(BadInput, match="only contacts of the edge"):
        find_marks({"dp": "damaged"})
