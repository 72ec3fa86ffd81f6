"""The card's output under states and EDIDs that were set: held against kernel and edid-decode."""

from __future__ import annotations

import pytest

from tests.kernel.one_boot import Said, Told

GIVEN = {"without_extension": ["base"], "two_extensions": ["base", "CTA-861", "DisplayID"]}


def _screen(said: Said, kind: str) -> Told:
    (found,) = (line for line in said.all("screen") if line["kind"] == kind)
    return found


def test_what_the_tool_reads_is_what_the_kernel_shows(said: Said) -> None:
    for told in said.all("screen"):
        assert told["status"] == told["kernel_status"]
        assert told["edid"] == told["kernel_edid"]
        assert told["modes"] == told["kernel_modes"]
        assert (told["forced"] or "unspecified") == told["kernel_force"]


def test_a_sound_edid_is_named_as_edid_decode_names_it(said: Said) -> None:
    told = _screen(said, "own")
    assert told["sound"]
    assert f"Display Product Name: '{told['name']}'" in told["decoded"]
    assert told["blocks"] == ["base", "CTA-861"]
    assert "Block 1, CTA-861 Extension Block" in told["decoded"]
    preferred = told["preferred"].replace("×", "x").split(" ")[0]
    assert f"DTD 1:  {preferred}" in told["decoded"]


@pytest.mark.parametrize("kind", sorted(GIVEN))
def test_extensions_are_counted_as_edid_decode_counts_them(said: Said, kind: str) -> None:
    told = _screen(said, kind)
    assert told["given_blocks"] == GIVEN[kind]
    assert told["given_sound"]
    assert "should be" not in told["given_decoded"]
    for number, name in enumerate(GIVEN[kind][1:], start=1):
        assert f"Block {number}, {name} Extension Block" in told["given_decoded"]
    if told["edid"] == told["given"]:  # Linux 6.12 shows it only after the next plug
        assert told["blocks"] == GIVEN[kind]


def test_a_damaged_edid_is_damaged_for_both(said: Said) -> None:
    told = _screen(said, "damaged")
    assert "should be" in told["given_decoded"]  # edid-decode on a wrong checksum
    assert told["given_problems"] == ["edid_wrong_checksum"]


def test_an_edid_that_was_cut_is_whole_for_neither(said: Said) -> None:
    told = _screen(said, "cut")
    assert told["refused"]
    assert "edid_base_block_cut" in told["given_problems"] or not told["given_sound"]
    assert "not a multiple of 128" in told["given_decoded"]


def test_an_edid_that_was_given_by_hand_judges_nothing(said: Said) -> None:
    assert all(_screen(said, kind)["edid_set"] for kind in GIVEN)
    assert not _screen(said, "own")["edid_set"]
    told = said.one("edid_given")
    reading = told["readings"]["1-display edid Virtual-1"]
    assert reading["verdict"] == "not measured"
    assert reading["reason"]["code"] == "display_edid_set"
    assert told["verdict"] == "conditional"


@pytest.mark.parametrize(
    ("kind", "state"), [("forced_off", "off"), ("forced_on", "on"), ("forced_detect", "")]
)
def test_a_state_that_was_forced_is_known_as_such(said: Said, kind: str, state: str) -> None:
    assert _screen(said, kind)["forced"] == state


@pytest.mark.parametrize("check", ["forced_before", "forced_meanwhile"])
def test_what_a_hand_has_switched_off_is_no_fault_of_the_card(said: Said, check: str) -> None:
    told = said.one(check)
    assert told["verdict"] == "conditional"
    assert [owed[2]["code"] for owed in told["owed"]] == ["display_forced"]
