"""Where a card sits, from the folders of sysfs: every folder above a device is the port over it."""

from __future__ import annotations

from burnin.card.attributes import Attributes
from burnin.card.files import BenchFiles
from burnin.card.pci.slot_registers import read_slot
from burnin.card.slots.named import slot_name
from burnin.card.sources.link import read_end
from burnin.card.sources.meanings import LinuxReason
from burnin.card.sources.pci_devices import ADDRESS, Ends, configuration_space
from burnin.card.sources.pci_names import PciNames
from burnin.card.topology import CardPosition, PortOnTheWay
from burnin.core.reading import NotMeasured, known

_BRIDGE = 0x0604
"""Class and subclass of a bridge to PCI, which every port is (PCI Code and ID Assignment 1.11)."""


def read_position(
    files: BenchFiles, ends: Ends, names: PciNames
) -> CardPosition | NotMeasured:
    """The ports above the card's end of the slot's link, or why none can be told."""
    if isinstance(ends.port, NotMeasured):
        return ends.port
    folders = _folders_up(ends.port)
    if not folders:
        return NotMeasured(LinuxReason.NO_PORT_ABOVE())
    ports = tuple(_port(files, folder, names) for folder in folders)
    number: int | NotMeasured
    power: float | NotMeasured
    space = configuration_space(files, folders[0])
    slot = space if isinstance(space, NotMeasured) else read_slot(space)
    if isinstance(slot, NotMeasured):
        number = power = slot
    else:
        number, power = slot.number, slot.power_limit_w
    return CardPosition(
        ports=ports,
        slot_number=number,
        slot_power_w=power,
        slot_name=slot_name(files, *(path.rsplit("/", 1)[-1] for path in (ends.card, ends.port))),
        beside=_beside(files, folders[0]) if len(folders) == 1 else (),
        behind_bridge=_behind(files, folders[1], folders[0]) if len(folders) > 1 else (),
    )


def _folders_up(port: str) -> list[str]:
    """Folders of the port and of all ports above it."""
    parts = port.split("/")
    return [
        "/".join(parts[: at + 1])
        for at in range(len(parts) - 1, 0, -1)
        if ADDRESS.fullmatch(parts[at])
    ]


def _port(files: BenchFiles, folder: str, names: PciNames) -> PortOnTheWay:
    end, attributes = read_end(files, folder), Attributes(files, folder)
    space = configuration_space(files, folder)
    vendor, device = attributes.hexadecimal("vendor"), attributes.hexadecimal("device")
    name: str | NotMeasured
    if isinstance(vendor, NotMeasured):
        name = vendor
    else:
        name = device if isinstance(device, NotMeasured) else names.device(vendor, device)
    return PortOnTheWay(
        address=folder.rsplit("/", 1)[-1],
        kind=space if isinstance(space, NotMeasured) else space.port_type(),
        name=name,
        width_lanes=end.width_lanes,
        speed_gts=end.speed_gts,
        max_width_lanes=end.max_width_lanes,
        max_speed_gts=end.max_speed_gts,
    )


def _beside(files: BenchFiles, port: str) -> tuple[str, ...]:
    """Other functions of the port's device that are ports with a device behind them."""
    above, address = port.rsplit("/", 1)
    device = address.rpartition(".")[0]
    return tuple(
        name
        for name in Attributes(files, above).names()
        if ADDRESS.fullmatch(name)
        and name != address
        and name.rpartition(".")[0] == device
        and _is_bridge(files, f"{above}/{name}")
        and _devices_in(files, f"{above}/{name}")
    )


def _behind(files: BenchFiles, bridge: str, port: str) -> tuple[str, ...]:
    """Devices behind the other ports of the bridge above the card's port."""
    own = port.rsplit("/", 1)[-1]
    return tuple(
        device
        for name in _devices_in(files, bridge)
        if name != own
        for device in _devices_in(files, f"{bridge}/{name}") or (name,)
        if device != name or not _is_bridge(files, f"{bridge}/{name}")
    )


def _devices_in(files: BenchFiles, folder: str) -> tuple[str, ...]:
    return tuple(n for n in Attributes(files, folder).names() if ADDRESS.fullmatch(n))


def _is_bridge(files: BenchFiles, folder: str) -> bool:
    class_code = known(Attributes(files, folder).hexadecimal("class"))
    return class_code is not None and class_code >> 8 == _BRIDGE
