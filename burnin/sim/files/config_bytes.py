"""Configuration space of the card and of the port above it, 4,096 bytes each, from the state.

Layout: PCI Local Bus Specification 3.0, chapter 6 (header) and PCI Express Base Specification,
7.5 to 7.8 (capabilities), by the offsets and bits that Linux publishes in ``pci_regs.h``; the
16 GT/s capability's inner layout is from memory.
"""

from __future__ import annotations

from collections.abc import Mapping

from burnin.sim.physics.link import Link
from burnin.sim.physics.link_errors import EndErrors
from burnin.sim.scenario.model import Scenario

SIZE = 4096
FALLEN = b"\xff" * SIZE
"""What a read returns when nothing answers."""

_CORRECTABLE_BITS = {
    "RxErr": 0x1, "BadTLP": 0x40, "BadDLLP": 0x80, "Rollover": 0x100, "Timeout": 0x1000,
    "NonFatalErr": 0x2000, "CorrIntErr": 0x4000, "HeaderOF": 0x8000,
}
_PM, _MSI, _PCIE = 0x40, 0x50, 0x70
SLOT_CAPABILITIES = _PCIE + 0x14
_SLOT_W = 75
"""Slot power limit, scale 1 (Slot Capabilities)."""
_AER, _SERIAL, _SECONDARY, _GEN4 = 0x100, 0x150, 0x160, 0x190
_ENDPOINT, ROOT_PORT, UPSTREAM_PORT, DOWNSTREAM_PORT = 0x0, 0x4, 0x5, 0x6


class _Space:
    """4,096 bytes written little-endian."""

    def __init__(self) -> None:
        self.raw = bytearray(SIZE)

    def put(self, offset: int, size: int, value: int) -> None:
        self.raw[offset : offset + size] = value.to_bytes(size, "little")


def _link_status(link: Link, port: bool) -> int:
    """Link Status: speed, width, common clock; the port adds active, and its bandwidth bits."""
    status = 0x1000 | link.generation | link.width_lanes << 4
    if port:
        status |= (0x2000 if link.up else 0) | link.reliability_bit << 14
        status |= link.autonomous_bit << 15
    return status


def _capabilities(
    space: _Space,
    kind: int,
    link: Link,
    generation: int,
    width: int,
    errors: EndErrors,
    target: int,
) -> None:
    port = kind != _ENDPOINT
    space.put(0x06, 2, 0x0010)
    space.put(0x34, 1, _PM)
    space.put(_PM, 4, 0x4803_0001 | _MSI << 8)
    space.put(_MSI, 4, 0x0081_0005 | _PCIE << 8)
    space.put(_MSI + 4, 4, 0xFEE0_0000)
    space.put(_PCIE, 2, 0x0010)
    space.put(_PCIE + 2, 2, 0x0002 | kind << 4 | (0x100 if port else 0))
    space.put(_PCIE + 4, 4, 0x0000_8001 | (0 if port else 0x1000_0000))
    space.put(_PCIE + 8, 2, 0x2830)
    counted = any(errors.correctable.values())
    space.put(_PCIE + 0xA, 2, 0x1 if counted else 0)
    space.put(_PCIE + 0xC, 4, generation | width << 4 | (0x0038_0000 if port else 0x0040_0000))
    space.put(_PCIE + 0x10, 2, 0x0040)
    space.put(_PCIE + 0x12, 2, _link_status(link, port))
    if port:
        space.put(SLOT_CAPABILITIES, 4, 0x0008_0000 | _SLOT_W << 7)
        space.put(_PCIE + 0x1A, 2, 0x0040 if link.up else 0)
    space.put(_PCIE + 0x2C, 4, ((1 << generation) - 1) << 1)
    space.put(_PCIE + 0x30, 2, target)
    space.put(_PCIE + 0x32, 2, 0x001E if link.generation >= 3 else 0)


def _extended(
    space: _Space, generation: int, width: int, link: Link, errors: EndErrors, serial: int | None
) -> None:
    """The extended chain: AER, serial number, secondary PCIe, 16 GT/s; newer ones by generation."""
    entries: list[tuple[int, int, int]] = [(_AER, 0x0001, 2)]
    if serial is not None:
        entries.append((_SERIAL, 0x0003, 1))
    if generation >= 3:
        entries.append((_SECONDARY, 0x0019, 1))
    if generation >= 4:
        entries.append((_GEN4, 0x0026, 1))
    following = [offset for offset, _, _ in entries[1:]] + [0]
    for (offset, ident, version), after in zip(entries, following, strict=True):
        space.put(offset, 4, ident | version << 16 | after << 20)
    status = sum(_CORRECTABLE_BITS[name] for name, n in errors.correctable.items() if n)
    space.put(_AER + 0x0C, 4, 0x0046_2030)
    space.put(_AER + 0x10, 4, status)
    space.put(_AER + 0x14, 4, 0x2000)
    space.put(_AER + 0x18, 4, 0xA0)
    if serial is not None:
        space.put(_SERIAL + 4, 8, serial)
    if generation >= 3:
        space.put(_SECONDARY + 8, 4, errors.lane_bits)
        for lane in range(width):
            space.put(_SECONDARY + 0x0C + 2 * lane, 2, 0x7878)
    if generation >= 4:
        space.put(_GEN4 + 0x0C, 4, 0x0F if link.generation >= 4 else 0)
        for lane in range(width):
            space.put(_GEN4 + 0x20 + lane, 1, 0x88)


def card_space(
    scenario: Scenario, ids: Mapping[str, int], class_code: int, link: Link, bars: list[int]
) -> bytes:
    """The card's space; `ids` has vendor, device, subsystem_vendor, subsystem, revision.

    `bars` are the six base address registers as they read (address and low bits).
    """
    card, space = scenario.card, _Space()
    space.put(0x00, 2, ids["vendor"])
    space.put(0x02, 2, ids["device"])
    space.put(0x04, 2, 0x0406)
    space.put(0x08, 1, ids["revision"])
    space.put(0x09, 3, class_code)
    space.put(0x0C, 1, 0x10)
    for number, value in enumerate(bars):
        space.put(0x10 + 4 * number, 4, value)
    space.put(0x2C, 2, ids["subsystem_vendor"])
    space.put(0x2E, 2, ids["subsystem"])
    space.put(0x3D, 1, 1)
    errors = link.ends["card"]
    _capabilities(
        space, _ENDPOINT, link, card.generation, card.width_lanes, errors, card.generation
    )
    serial = int(card.serial.replace("-", ""), 16)
    _extended(space, card.generation, card.width_lanes, link, errors, serial)
    return bytes(space.raw)


def port_space(scenario: Scenario, link: Link) -> bytes:
    """The space of the root port above the card."""
    bench, space = scenario.bench, _Space()
    space.put(0x00, 4, 0x0001_F5A8)
    space.put(0x04, 2, 0x0407)
    space.put(0x09, 3, 0x060400)
    space.put(0x0C, 4, 0x0001_0010)
    space.put(0x18, 4, 0x0001_0100)
    errors = link.ends["port"]
    generation, width = bench.slot_generation, bench.port_width_lanes or bench.slot_width_lanes
    target = bench.held_generation or generation
    kind = ROOT_PORT if bench.uplink_width_lanes is None else DOWNSTREAM_PORT
    _capabilities(space, kind, link, generation, width, errors, target)
    _extended(space, generation, width, link, errors, None)
    return bytes(space.raw)


def bridge_space(kind: int, width: int, generation: int) -> bytes:
    """The space of a port of a bridge on the way, its link trained at its best."""
    space = _Space()
    space.put(0x00, 4, 0x0002_F5A8)
    space.put(0x04, 2, 0x0407)
    space.put(0x06, 2, 0x0010)
    space.put(0x09, 3, 0x060400)
    space.put(0x0C, 4, 0x0001_0010)
    space.put(0x34, 1, _PCIE)
    space.put(_PCIE, 2, 0x0010)
    space.put(_PCIE + 2, 2, 0x0002 | kind << 4)
    space.put(_PCIE + 0xC, 4, generation | width << 4)
    space.put(_PCIE + 0x12, 2, generation | width << 4)
    space.put(_PCIE + 0x2C, 4, ((1 << generation) - 1) << 1)
    space.put(_PCIE + 0x30, 2, generation)
    return bytes(space.raw)
