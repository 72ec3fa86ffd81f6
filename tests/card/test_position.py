"""Where a card sits, walked from sysfs: its port, bridges on the way, what sits beside it."""

from __future__ import annotations

from pathlib import Path

import pytest

from burnin.card.files import HostFiles
from burnin.card.pci.config_space import ConfigurationSpace
from burnin.card.pci.reasons import ConfigReason
from burnin.card.pci.slot_registers import SlotRegisters, read_slot
from burnin.card.sources.linux_card import LinuxCard
from burnin.card.topology import CardPosition
from burnin.core.reading import NotMeasured

ROOT, CARD = "0000:00:01.0", "0000:01:00.0"
PORT = {"vendor": "0x8086", "device": "0x4c01", "class": "0x060400"}
LINK = ("current_link_width", "current_link_speed", "max_link_width", "max_link_speed")


def put(root: Path, place: str, width: int, speed: str, **more: str) -> None:
    """A PCI device at `place` below the bus, with its link."""
    folder = root / "sys/devices/pci0000:00" / place
    folder.mkdir(parents=True, exist_ok=True)
    told = dict(zip(LINK, (str(width), speed, str(width), speed), strict=True))
    values = {**PORT, **told, **more}
    for name, value in values.items():
        (folder / name).write_text(f"{value}\n")
    link = root / "sys/bus/pci/devices" / folder.name
    link.parent.mkdir(parents=True, exist_ok=True)
    link.symlink_to(folder)


def card(root: Path, place: str, address: str = CARD) -> CardPosition:
    put(root, place, 16, "16.0 GT/s PCIe", vendor="0xf5a7", **{"class": "0x030000"})
    found = LinuxCard(HostFiles(root), address).position()
    assert isinstance(found, CardPosition)
    return found


def test_a_card_at_a_root_port_has_nothing_on_the_way(tmp_path: Path) -> None:
    put(tmp_path, ROOT, 16, "16.0 GT/s PCIe")
    found = card(tmp_path, f"{ROOT}/{CARD}")
    assert found.port.address == ROOT
    assert found.bridges == ()
    assert found.beside == ()
    assert found.behind_bridge == ()
    assert found.narrowest_gbs(256) is None


def test_a_bridge_bounds_what_can_be_moved_and_its_neighbours_are_named(tmp_path: Path) -> None:
    up, down, other = "0000:02:00.0", "0000:03:00.0", "0000:03:01.0"
    put(tmp_path, ROOT, 8, "8.0 GT/s PCIe")
    put(tmp_path, f"{ROOT}/{up}", 8, "8.0 GT/s PCIe")
    put(tmp_path, f"{ROOT}/{up}/{down}", 16, "16.0 GT/s PCIe")
    put(tmp_path, f"{ROOT}/{up}/{other}", 4, "8.0 GT/s PCIe")
    put(tmp_path, f"{ROOT}/{up}/{other}/0000:05:00.0", 4, "8.0 GT/s PCIe", **{"class": "0x010802"})
    address = "0000:04:00.0"
    found = card(tmp_path, f"{ROOT}/{up}/{down}/{address}", address)
    assert [port.address for port in found.ports] == [down, up, ROOT]
    assert [port.address for port in found.bridges] == [up]
    assert found.behind_bridge == ("0000:05:00.0",)
    narrowest = found.narrowest_gbs(256)
    assert narrowest is not None
    assert narrowest[0] == pytest.approx(8 * 8.0 * 128 / 130 / 8 * 256 / 280, rel=1e-3)
    assert narrowest[1].address == up


def test_other_functions_of_the_ports_device_with_a_card_are_named(tmp_path: Path) -> None:
    put(tmp_path, ROOT, 8, "16.0 GT/s PCIe")
    put(tmp_path, "0000:00:01.1", 8, "16.0 GT/s PCIe")
    put(tmp_path, "0000:00:01.1/0000:07:00.0", 4, "8.0 GT/s PCIe", **{"class": "0x010802"})
    put(tmp_path, "0000:00:01.2", 4, "8.0 GT/s PCIe")
    put(tmp_path, "0000:00:1c.0", 4, "8.0 GT/s PCIe")
    put(tmp_path, "0000:00:1c.0/0000:09:00.0", 4, "8.0 GT/s PCIe", **{"class": "0x020000"})
    assert card(tmp_path, f"{ROOT}/{CARD}").beside == ("0000:00:01.1",)


def test_two_bridges_one_below_the_other(tmp_path: Path) -> None:
    way = (ROOT, "0000:02:00.0", "0000:03:00.0", "0000:04:00.0", "0000:05:00.0")
    for depth in range(1, len(way) + 1):
        put(tmp_path, "/".join(way[:depth]), 4 if depth == 2 else 16, "8.0 GT/s PCIe")
    address = "0000:06:00.0"
    found = card(tmp_path, "/".join((*way, address)), address)
    assert [port.address for port in found.bridges] == ["0000:04:00.0", "0000:02:00.0"]
    narrowest = found.narrowest_gbs(256)
    assert narrowest is not None
    assert narrowest[1].address == "0000:02:00.0"


def test_a_card_without_a_port_has_no_position(tmp_path: Path) -> None:
    put(tmp_path, CARD, 16, "16.0 GT/s PCIe", vendor="0xf5a7", **{"class": "0x030000"})
    assert isinstance(LinuxCard(HostFiles(tmp_path), CARD).position(), NotMeasured)


def port_space(flags: int, slot: int) -> ConfigurationSpace:
    data = bytearray(256)
    data[0x06], data[0x0E], data[0x34] = 0x10, 1, 0x40
    data[0x40:0x42] = bytes((0x10, 0))
    data[0x42:0x44] = flags.to_bytes(2, "little")
    data[0x54:0x58] = slot.to_bytes(4, "little")
    return ConfigurationSpace(bytes(data))


@pytest.mark.parametrize(
    ("slot", "number", "watts"),
    [
        (5 << 19 | 75 << 7, 5, 75.0),
        (1 << 15 | 750 // 4 << 7, 0, 18.7),
        (0xF1 << 7, 0, 275.0),
        (0x191 << 19 | 2 << 15 | 50 << 7, 0x191, 0.5),
    ],
)
def test_the_port_tells_number_and_power_of_its_slot(
    slot: int, number: int, watts: float
) -> None:
    found = read_slot(port_space(0x0142, slot))
    assert isinstance(found, SlotRegisters)
    assert found.number == number
    assert found.power_limit_w == pytest.approx(watts)


def test_a_port_without_a_slot_and_a_reserved_power_are_not_measured() -> None:
    without = read_slot(port_space(0x0042, 75 << 7))
    assert isinstance(without, NotMeasured)
    assert without.reason.means(ConfigReason.NO_SLOT)
    found = read_slot(port_space(0x0142, 0xFE << 7))
    assert isinstance(found, SlotRegisters)
    assert isinstance(found.power_limit_w, NotMeasured)
    assert isinstance(read_slot(ConfigurationSpace(bytes(64))), NotMeasured)
