"""Configuration space and EDID bytes, read by tools from outside."""

from __future__ import annotations

import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.engine.job import LinkTraffic
from burnin.sim.physics.monitor import edid_of
from tests.sim.machines import bench_of, run_for, work

CONNECTORS = ("DP-1", "HDMI-A-2", "DVI-D-1", "VGA-1")


@given(
    name=st.text(st.characters(min_codepoint=32, max_codepoint=126), max_size=13),
    connector=st.sampled_from(CONNECTORS),
    extended=st.booleans(),
)
def test_every_block_sums_to_zero(name: str, connector: str, extended: bool) -> None:
    # VESA E-EDID 1.4: all 128 bytes of a block sum to 0 modulo 256, byte 126 counts extensions.
    edid = edid_of(name, connector, extended)
    assert len(edid) == (256 if extended else 128)
    for start in range(0, len(edid), 128):
        assert sum(edid[start : start + 128]) % 256 == 0
    assert edid[126] == int(extended)
    assert edid[:8] == bytes([0, *[255] * 6, 0])


@pytest.mark.parametrize("connector", ["DP-1", "HDMI-A-2", "DVI-D-1"])
@pytest.mark.parametrize("extended", [True, False])
def test_edid_decode_finds_nothing_wrong(
    connector: str, extended: bool, tmp_path: Path, require_tool: Callable[[str], str]
) -> None:
    blob = tmp_path / "edid.bin"
    blob.write_bytes(edid_of("Fenwick 27", connector, extended))
    done = subprocess.run(
        [require_tool("edid-decode"), "--check", str(blob)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert "EDID conformity: PASS" in done.stdout
    assert "2560x1440" in done.stdout


def hex_dump(head: str, data: bytes) -> str:
    """As ``lspci -xxxx`` prints it."""
    lines = [head]
    for start in range(0, len(data), 16):
        lines.append(f"{start:02x}: {data[start : start + 16].hex(' ')}")
    return "\n".join(lines)


def lspci(name: str, lane_error: bool, folder: Path, tool: str) -> tuple[str, str]:
    """What lspci decodes of port and card, under traffic."""
    bench = bench_of(name)
    bench.engine.begin(LinkTraffic(9.0))
    run_for(bench, 4.0)
    assert bool(bench.machine.link.ends["card"].lane_bits) is lane_error
    read = bench.files.read_bytes
    dump = folder / "dump.txt"
    dump.write_text(
        hex_dump("00:01.0 PCI bridge", read("/sys/bus/pci/devices/0000:00:01.0/config"))
        + "\n\n"
        + hex_dump("01:00.0 VGA", read("/sys/bus/pci/devices/0000:01:00.0/config"))
        + "\n",
        encoding="ascii",
    )
    done = subprocess.run(
        [tool, "-n", "-vvv", "-F", str(dump)], capture_output=True, text=True, check=True
    )
    port, _, card = done.stdout.partition("\n\n")
    return port, card


def test_lspci_reads_a_sound_card_and_its_port(
    tmp_path: Path, require_tool: Callable[[str], str]
) -> None:
    port, card = lspci("healthy", False, tmp_path, require_tool("lspci"))
    assert "0300: f5a7:0009 (rev a1)" in card
    assert "Subsystem: f5a7:0901" in card
    for text in (port, card):
        assert "LnkCap:\tPort #0, Speed 16GT/s, Width x16" in text
        assert "LnkSta:\tSpeed 16GT/s" in text
        assert "MaxPayload 256 bytes, MaxReadReq 512 bytes" in text
        assert "Supported Link Speeds: 2.5-16GT/s" in text
    assert "Express (v2) Root Port (Slot+)" in port
    assert "DLActive+" in port
    assert "Express (v2) Endpoint" in card
    assert "Device Serial Number 5f-a7-00-09-00-00-12-34" in card
    assert "LaneErrStat: 0" in card


def test_lspci_reads_the_trouble_of_a_bad_joint(
    tmp_path: Path, require_tool: Callable[[str], str]
) -> None:
    port, card = lspci("slow_link_under_load", True, tmp_path, require_tool("lspci"))
    assert "LnkSta:\tSpeed 8GT/s (downgraded), Width x16" in card
    assert "BWMgmt+" in port
    assert "BadTLP+" in card
    assert "BadTLP-" in port
    assert "LaneErrStat: LaneErr at lane: 3" in card


def test_lspci_reads_the_narrow_link(tmp_path: Path, require_tool: Callable[[str], str]) -> None:
    _, card = lspci("narrow_link", False, tmp_path, require_tool("lspci"))
    assert "Width x8 (downgraded)" in card


def test_no_extended_capability_beyond_what_the_generation_has() -> None:
    bench = bench_of("healthy")
    work(bench, LinkTraffic(1.0))
    space = bench.files.read_bytes("/sys/bus/pci/devices/0000:01:00.0/config")
    offset, found = 0x100, []
    while offset:
        head = int.from_bytes(space[offset : offset + 4], "little")
        found.append(head & 0xFFFF)
        offset = head >> 20
    # AER, serial number, secondary PCI Express, physical layer 16 GT/s (pci_regs.h).
    assert found == [0x01, 0x03, 0x19, 0x26]
