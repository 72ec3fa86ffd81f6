"""Which slot a card sits in: as firmware and kernel tell it, whatever bytes the firmware holds."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.card.capabilities import Output
from burnin.card.files import HostFiles
from burnin.card.screens import screen_name, screens_on
from burnin.card.slots.named import FIRMWARE, SLOTS, slot_name
from burnin.card.slots.smbios import FirmwareSlot, slot_in
from burnin.core.reading import NotMeasured
from burnin.report.languages.catalogue import catalogue
from burnin.run.bench import Options, cards_of_bench
from burnin.sim.files.slots import slot_files

CARD, PORT = "0000:41:00.0", "0000:40:03.1"
STRING = b"PCIEX16_2\0\0"


def structure(
    *,
    strings: bytes = STRING,
    string: int = 1,
    kind: int = 9,
    length: int = 0x11,
    segment: int = 0,
    bus: int = 0x41,
    function: int = 0,
) -> bytes:
    """A structure of type 9 as DMTF DSP0134 lays it out, as of version 2.6."""
    fixed = bytes([kind, length, 0x2A, 0x00, string, 0xB1, 0x0D, 0x04, 0x04, 2, 0, 0x0C, 1])
    return fixed + segment.to_bytes(2, "little") + bytes([bus, function]) + strings


def bench(
    folder: Path, *firmware: bytes, kernel: dict[str, str] | None = None
) -> HostFiles:
    """A bench with these structures and these slots of the kernel's list."""
    for number, raw in enumerate(firmware):
        place = folder / FIRMWARE.lstrip("/") / f"9-{number}"
        place.mkdir(parents=True)
        (place / "raw").write_bytes(raw)
    for name, address in (kernel or {}).items():
        place = folder / SLOTS.lstrip("/") / name
        place.mkdir(parents=True)
        (place / "address").write_text(f"{address}\n")
    return HostFiles(folder)


def test_the_name_that_is_printed_on_the_board_is_told() -> None:
    assert slot_in(structure()) == FirmwareSlot("PCIEX16_2", CARD)
    whole = structure(length=0x13)[:0x11] + b"\x04\0" + STRING  # version 3.2 goes on there
    assert slot_in(whole) == FirmwareSlot("PCIEX16_2", CARD)
    second = structure(string=2, strings=b"J1\0J2 x16\0\0")
    assert slot_in(second) == FirmwareSlot("J2 x16", CARD)
    far = structure(segment=0x10, bus=0x40, function=0x19)
    assert slot_in(far) == FirmwareSlot("PCIEX16_2", "0010:40:03.1")


@pytest.mark.parametrize(
    "raw",
    [
        b"", b"\x09", structure()[:0x10], structure(kind=8), structure(kind=127),
        structure(length=0x0D), structure(length=0), structure(length=0xFF),
        structure(string=0), structure(string=2), structure(string=255),
        structure(strings=b""), structure(strings=b"\0\0"), structure(strings=b"\0PCIE1\0\0"),
        structure(segment=0xFFFF), structure(bus=0xFF, function=0xFF),
        structure(strings=b"\x1b\x07\x00\0"), structure(strings=b"   \0\0"),
    ],
)  # fmt: skip
def test_what_does_not_hold_together_is_no_slot(raw: bytes) -> None:
    assert slot_in(raw) is None


@given(st.binary(max_size=300))
def test_no_bytes_whatever_end_in_an_error(tail: bytes) -> None:
    for raw in (tail, structure(strings=tail), structure()[: len(tail) % 40] + tail):
        found = slot_in(raw)
        if found is not None:
            assert found.name.isprintable()
            assert 0 < len(found.name) <= 40


def test_hostile_names_are_one_short_printable_line() -> None:
    raw = structure(strings=b"\x1b[31mSLOT\n1\xff\xe2\x80\xae<b>" + b"x" * 4000 + b"\0\0")
    found = slot_in(raw)
    assert found is not None
    assert "\x1b" not in found.name
    assert "\u202e" not in found.name
    assert len(found.name) == 40


def test_firmware_comes_before_the_kernels_list_and_the_card_before_its_port(
    tmp_path: Path,
) -> None:
    of_port = structure(bus=0x40, function=0x19, strings=b"OF PORT\0\0")
    kernel = {"7": CARD.rpartition(".")[0], "8": "0000:42:00"}
    assert slot_name(bench(tmp_path / "a", of_port, structure()), CARD, PORT) == "PCIEX16_2"
    assert slot_name(bench(tmp_path / "b", of_port, kernel=kernel), CARD, PORT) == "OF PORT"
    assert slot_name(bench(tmp_path / "c", kernel=kernel), CARD, PORT) == "7"
    other = structure(bus=0x42)
    assert slot_name(bench(tmp_path / "d", other, kernel=kernel), CARD, PORT) == "7"


def test_where_nobody_names_it_the_reason_is_told(tmp_path: Path) -> None:
    odd = {"a": "", "b": "0000:41", "c": "../../x", "d": "0000:41:00.0"}
    found = slot_name(bench(tmp_path, b"\x09\xff", kernel=odd), CARD, PORT)
    assert isinstance(found, NotMeasured)
    for language in ("en", "de"):
        assert "slots_" not in catalogue(language).say(found.reason)


def test_a_structure_that_may_not_be_read_leaves_the_kernels_list(tmp_path: Path) -> None:
    files = bench(tmp_path, structure(), kernel={"7": "0000:41:00"})
    raw = tmp_path / FIRMWARE.lstrip("/") / "9-0" / "raw"
    raw.unlink()
    raw.mkdir()
    assert slot_name(files, CARD, PORT) == "7"


def test_the_simulated_bench_is_read_the_same_way() -> None:
    for number, card in enumerate(cards_of_bench(Options(simulated="three_cards")), start=1):
        position = card.position()
        assert not isinstance(position, NotMeasured)
        assert position.slot_name == f"PCIE{number}"
        assert screens_on(card.outputs())[0] == "DP-1 (Fenwick 27)"
    files = slot_files(2, CARD)
    raw = files[f"{FIRMWARE}/9-1/raw"]
    assert callable(raw)
    assert slot_in(raw()) == FirmwareSlot("PCIE2", CARD)


@pytest.mark.parametrize("edid", [b"", b"\xff" * 200, b"\0" * 128, NotMeasured])
def test_a_screen_that_tells_no_name_is_told_by_its_output(edid: object) -> None:
    from burnin.card.sources.meanings import LinuxReason

    told = edid if isinstance(edid, bytes) else NotMeasured(LinuxReason.NO_DRM_DEVICE())
    output = Output("DP-1", "connected", told, (), "enabled")
    assert screen_name(output) == ""
    assert screens_on([output]) == ("DP-1",)
    assert screens_on(NotMeasured(LinuxReason.NO_DRM_DEVICE())) == ()
