"""What is printed of contacts, for people and for machines."""

from __future__ import annotations

import json
from typing import Any

import pytest

from burnin.connector.contact_map import contacts
from burnin.connector.contact_text import contacts_text
from burnin.core.errors import BadInput
from burnin.report.languages.catalogue import catalogue
from tests.refusals import refused


def told(*names: str, lane: int | None = None, group: str | None = None, width: int = 80) -> str:
    return contacts_text(list(names), lane, group, False, width, catalogue("en").say)


def in_json(names: list[str], lane: int | None = None, group: str | None = None) -> Any:
    return json.loads(contacts_text(names, lane, group, True, 80, catalogue("en").say))


@pytest.mark.parametrize("width", [44, 80, 120])
def test_no_line_is_wider_than_asked(width: int) -> None:
    for text in (
        told("B82", "A35", "12v2x6/S3", "dp/18", width=width),
        told("8pin", "usbc", width=width),
        told(group="ground", width=width),
        told(width=width),
    ):
        assert max(map(len, text.splitlines())) <= width


def test_a_contact_is_told_with_effects_stage_measurement_and_caution() -> None:
    text = told("A35", width=100)
    for part in (
        "PERp4", "lane_tx, lane 4; out of the card", "A35 and A36", "The link trains x4",
        "Shown by: stage link", "capacitor", "Unplug the bench", "Wikipedia",
    ):  # fmt: skip
        assert part in text


def test_what_is_the_same_is_told_once() -> None:
    text = " ".join(told("A56", "A57", width=100).split())
    assert "A56 PERp9; A57 PERn9" in text
    assert text.count("The link trains x8") == 2  # open, and shorted to ground


def test_lane_and_group_narrow_each_other() -> None:
    found = in_json([], 9, "lane_tx")["contacts"]
    assert [contact["name"] for contact in found] == ["A56", "A57"]
    assert told(lane=9, group="ground") == "Lane 9 has no contact of group ground."


def test_many_contacts_become_a_table() -> None:
    lines = told(group="presence", width=120).splitlines()
    assert not any(line.startswith("contact ") for line in lines)
    table = told(group="lane_rx", width=120).split("contact  signal")[1].splitlines()[1:]
    assert [line.split()[0] for line in table] == [
        c.name for c in contacts().values() if c.group == "lane_rx"
    ]
    assert table[0].split() == ["B14", "PETp0", "0", "no", "link", "enumeration,", "link"]


def test_json_holds_all_and_everything_without_a_choice() -> None:
    every = in_json([])["contacts"]
    assert [contact["name"] for contact in every] == list(contacts())
    (one,) = in_json(["B81"])["contacts"]
    assert one["short_finger"] is True
    assert one["carries"] == "presence of a card in the slot"
    assert one["carries_code"] == {"code": "contact_presence_detect"}
    assert [effect["state"] for effect in one["effects"]] == ["open", "resistive", "shorted"]
    (plug,) = in_json(["8pin"])["connectors"]
    assert plug["budget_w"] == 150.0
    assert len(plug["sense"]) == 4


def test_a_connector_shows_budget_and_sense_table() -> None:
    text = told("12v2x6", width=100)
    assert "at most 600 W, 55 A" in text
    assert "SENSE0 open, SENSE1 ground: 450 W (225 W at power-up)" in text


def test_unknown_names_end_in_a_clear_error() -> None:
    with refused(BadInput, match="nearest: B82"):
        told("B82", "B83")
    with refused(BadInput, match="lanes 0 to 15"):
        told(lane=16)
