"""Configuration space as it is found: whole, cut short by privilege, blanked, looping, gone."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.card.pci import registers as reg
from burnin.card.pci.config_space import ConfigurationSpace
from burnin.card.pci.link_registers import LinkRegisters
from burnin.card.pci.reasons import ConfigReason
from burnin.core.reading import NotMeasured
from burnin.report.languages.catalogue import catalogue


@pytest.fixture
def recorded(data: Path) -> bytes:
    return (data / "config_space.bin").read_bytes()


def ask_everything(space: ConfigurationSpace) -> list[object]:
    return [
        space.vendor_id,
        space.device_id,
        space.revision,
        space.class_code,
        space.header_type,
        space.subsystem_vendor_id,
        space.subsystem_id,
        space.base_addresses(),
        space.capabilities,
        space.extended_capabilities,
        space.port_type(),
        space.max_payload_bytes(),
        space.device_status(),
        space.link(),
        space.errors(),
        space.lane_errors(),
        space.parity_mismatches(),
        space.equalization(8.0),
        space.equalization(16.0),
        space.equalization(32.0),
        space.equalization(64.0),
        space.lane_margining(),
        space.serial_number(),
        space.gone,
        space.complete,
    ]


def test_blank_entries_are_stepped_over_not_stopped_at(recorded: bytes) -> None:
    space = ConfigurationSpace(recorded)
    names = [entry.name for entry in space.extended_capabilities.entries]
    assert names == [
        "blank",
        "latency tolerance reporting",
        "blank",
        "advanced error reporting",
        "blank",
        "blank",
        "vendor specific",
        "power budgeting",
        "device serial number",
    ]
    hidden = space.lane_errors()
    assert isinstance(hidden, NotMeasured)
    assert hidden.reason.means(ConfigReason.CAPABILITY_HIDDEN)
    assert hidden.reason["blank_entries"] == 4


def test_whole_space_gives_the_link(recorded: bytes) -> None:
    link = ConfigurationSpace(recorded).link()
    assert isinstance(link, LinkRegisters)
    assert (link.speed_gts, link.width_lanes) == (32.0, 16)
    assert (link.max_speed_gts, link.max_width_lanes) == (32.0, 16)
    assert link.supported_speeds_gts == (2.5, 5.0, 8.0, 16.0, 32.0)
    assert isinstance(link.active, NotMeasured)


def test_without_privilege_the_header_is_read_and_the_rest_says_why_not(recorded: bytes) -> None:
    space = ConfigurationSpace(recorded[:64])
    assert space.vendor_id == 0x10DE
    assert space.subsystem_id == 0x16C1
    assert isinstance(space.base_addresses(), tuple)
    for value in (space.link(), space.errors(), space.serial_number(), space.lane_margining()):
        assert isinstance(value, NotMeasured)
        assert value.reason.means(ConfigReason.CUT_WITHOUT_PRIVILEGE)
        told = catalogue("en").say(value.reason)
        assert told.startswith("only 64 of 4096 bytes are readable without privilege")


def test_without_extended_access_the_link_is_read_and_the_errors_say_why_not(
    recorded: bytes,
) -> None:
    space = ConfigurationSpace(recorded[:256])
    assert isinstance(space.link(), LinkRegisters)
    errors = space.errors()
    assert isinstance(errors, NotMeasured)
    assert errors.reason.means(ConfigReason.CUT_ON_THIS_BENCH)
    assert errors.reason["readable_bytes"] == 256
    assert not space.complete


def test_a_card_that_fell_off_the_bus_reads_all_ones() -> None:
    space = ConfigurationSpace(b"\xff" * 4096)
    assert space.gone
    link = space.link()
    assert isinstance(link, NotMeasured)
    assert link.reason.means(ConfigReason.ALL_ONES)


def test_a_present_card_is_not_gone(recorded: bytes) -> None:
    assert not ConfigurationSpace(recorded).gone
    assert not ConfigurationSpace(b"").gone


def test_loops_and_bad_pointers_end_the_walk_and_are_named(recorded: bytes) -> None:
    looping = bytearray(recorded)
    looping[0xB1] = 0x60  # the last standard entry points back to PCI Express
    looping[0x2F0 : 0x2F4] = (0x12C << 20 | 1 << 16 | 3).to_bytes(4, "little")
    space = ConfigurationSpace(bytes(looping))
    assert space.capabilities.cut == ConfigReason.CHAIN_LOOPS(offset=0x60)
    assert space.extended_capabilities.cut == ConfigReason.CHAIN_LOOPS(offset=0x12C)
    assert isinstance(space.link(), LinkRegisters)
    outside = bytearray(recorded)
    outside[0x34] = 0x20
    cut = ConfigurationSpace(bytes(outside)).capabilities.cut
    assert cut == ConfigReason.CHAIN_POINTS_OUTSIDE(offset=0x20)


def test_a_chain_that_turns_to_all_ones_is_cut_there(recorded: bytes) -> None:
    torn = bytearray(recorded)
    torn[0x12C:0x134] = b"\xff" * 8
    chain = ConfigurationSpace(bytes(torn)).extended_capabilities
    assert [entry.offset for entry in chain.entries] == [0x100]
    assert chain.cut == ConfigReason.CHAIN_ALL_ONES(offset=0x12C)


def test_codes_that_no_standard_defines_are_not_measured(recorded: bytes) -> None:
    odd = bytearray(recorded)
    at = 0x60 + reg.EXP_LNKSTA
    odd[at : at + 2] = (9 | 5 << 4).to_bytes(2, "little")
    link = ConfigurationSpace(bytes(odd)).link()
    assert isinstance(link, LinkRegisters)
    assert isinstance(link.speed_gts, NotMeasured)
    assert isinstance(link.width_lanes, NotMeasured)
    assert link.max_width_lanes == 16


def test_a_link_that_is_down_has_no_width(recorded: bytes) -> None:
    down = bytearray(recorded)
    at = 0x60 + reg.EXP_LNKSTA
    down[at : at + 2] = (1).to_bytes(2, "little")
    link = ConfigurationSpace(bytes(down)).link()
    assert isinstance(link, LinkRegisters)
    assert isinstance(link.width_lanes, NotMeasured)
    assert link.width_lanes.reason == ConfigReason.NO_LINK()


@given(st.binary(max_size=4096))
def test_no_bytes_are_ever_an_error(data: bytes) -> None:
    for value in ask_everything(ConfigurationSpace(data)):
        if isinstance(value, NotMeasured):
            assert value.reason.means(*ConfigReason)


@given(st.data())
def test_no_damage_to_a_real_space_is_ever_an_error(draw: st.DataObject) -> None:
    path = Path(__file__).parents[1] / "data" / "config_space.bin"
    space = bytearray(path.read_bytes())
    for _ in range(draw.draw(st.integers(1, 12))):
        # The chains' own bytes are hit on purpose: elsewhere hardly anything can go wrong.
        pointers = st.sampled_from([0x34, 0x41, 0x102, 0x12E])
        at = draw.draw(st.one_of(st.integers(0, 0x310), pointers))
        space[at] = draw.draw(st.integers(0, 255))
    cut = draw.draw(st.sampled_from([64, 128, 256, 4096]))
    result = ConfigurationSpace(bytes(space[:cut]))
    ask_everything(result)
    offsets = [entry.offset for entry in result.extended_capabilities.entries]
    assert len(offsets) == len(set(offsets))
    assert all(offset % 4 == 0 and 0x100 <= offset < 4096 for offset in offsets)
