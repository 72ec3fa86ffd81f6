"""Who the card is and how its link stands, held against lspci inside the same kernel."""

from __future__ import annotations

import re

import pytest

from tests.kernel import lspci
from tests.kernel.one_boot import Said

HEADER_BYTES, ALL_BYTES = 64, 4096


def test_nothing_broke(said: Said) -> None:
    assert not [line for line in said.lines if line["check"] == "raised"]


def test_the_card_is_who_lspci_says(said: Said) -> None:
    told = said.one("identity")
    tool, outside = told["tool"], lspci.machine_readable(told["lspci"])
    assert tool["address"] == outside["Slot"]
    assert f"{tool['vendor_id']:04x}" == outside["Vendor"]
    assert f"{tool['device_id']:04x}" == outside["Device"]
    assert f"{tool['subsystem_vendor_id']:04x}" == outside["SVendor"]
    assert f"{tool['subsystem_id']:04x}" == outside["SDevice"]
    assert f"{tool['class_code'] >> 8:04x}" == outside["Class"]
    assert f"{tool['revision']:02x}" == outside["Rev"]
    assert tool["driver"] == outside["Driver"]
    windows = [(bar["number"], bar["size_bytes"], bar["prefetchable"]) for bar in tool["bars"]]
    assert windows == lspci.regions(told["regions"])
    assert windows


@pytest.mark.parametrize("end", ["card", "port"])
def test_each_end_of_the_link_is_read_as_lspci_reads_it(said: Said, end: str) -> None:
    told = said.one("link")
    tool, text = told[end], told[f"lspci_{end}"]
    most, now = lspci.link(text, "LnkCap"), lspci.link(text, "LnkSta")
    assert (tool["max_speed_gts"], tool["max_width_lanes"]) == most
    assert (tool["speed_gts"], tool["width_lanes"]) == now


def test_the_port_offers_more_than_its_card(said: Said) -> None:
    told = said.one("link")
    assert (told["port"]["max_speed_gts"], told["port"]["max_width_lanes"]) == (16.0, 16)
    assert (told["card"]["max_speed_gts"], told["card"]["max_width_lanes"]) == (2.5, 1)
    (port,) = told["place"]["ports"]
    assert port["address"] == told["port_address"]
    assert "Root Port" in told["lspci_port"]
    assert port["kind"] == "root port"


@pytest.mark.parametrize("end", ["card", "port"])
def test_every_register_is_there_for_root(said: Said, end: str) -> None:
    (told,) = (line for line in said.all("registers") if line["end"] == end)
    tool = bytes.fromhex(told["tool"])
    assert len(tool) == ALL_BYTES
    assert tool == lspci.dump(told["lspci"])
    payload = re.search(r"DevCtl:.*?MaxPayload (\d+) bytes", told["decoded"], re.DOTALL)
    assert payload is not None
    assert told["payload"] == int(payload.group(1))
    has_lanes = "Secondary PCI Express" in told["decoded"]
    assert isinstance(told["lane_errors"], list) == has_lanes
    assert isinstance(told["serial"], str) == ("Device Serial Number" in told["decoded"])
    assert not told["errors"]["uncorrectable"]


def test_without_privilege_the_kernel_shows_the_header_alone(said: Said) -> None:
    told, whole = said.one("nobody"), said.all("registers")[0]
    assert told["code"] == 0
    assert told["bytes"] == told["kernel_bytes"]
    assert len(told["bytes"]) == 2 * HEADER_BYTES
    assert told["bytes"][:64] == whole["tool"][:64]
    assert told["serial"] == "config_cut_without_privilege"
    assert (told["vendor"], told["link"]) == (0x1AF4, 1)
