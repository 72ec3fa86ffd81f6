"""A PCI function as sysfs shows it: who it is, which driver has it, where it sits.

Attributes are those of Linux Documentation/ABI/testing/sysfs-bus-pci; ``vbios_version``,
``mem_info_vram_total``, ``unique_id`` and ``product_name`` are documented for amdgpu in
Documentation/gpu/amdgpu and read from any driver that offers them.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from burnin.card.attributes import Attributes
from burnin.card.file_errors import why_unread
from burnin.card.files import BenchFiles
from burnin.card.pci.config_space import ConfigurationSpace
from burnin.card.pci.registers import EXTENDED_BYTES, HEADER_BYTES
from burnin.card.sources.meanings import LinuxReason
from burnin.card.sources.pci_names import PciNames
from burnin.core.identity import Bar, Identity
from burnin.core.reading import NotMeasured, known

DEVICES = "/sys/bus/pci/devices"
CARD_CLASSES = (0x0300, 0x0302, 0x0380, 0x1200)
"""Class and subclass of VGA controllers, 3D controllers, other display controllers and processing
accelerators (PCI Code and ID Assignment 1.11, sections 1.4 and 1.19)."""

ADDRESS = re.compile(r"[0-9a-f]{4,}:[0-9a-f]{2}:[0-9a-f]{2}\.[0-7]", re.ASCII)
_IO = 0x100  # IORESOURCE_IO of Linux include/linux/ioport.h
_PREFETCHABLE = 0x2000  # IORESOURCE_PREFETCH
_SWITCH_PORTS = 2
"""A switch on the card shows as two bridges: one port facing the slot, one facing the GPU."""


@dataclass(frozen=True)
class Ends:
    """Folders of the two ends of the slot's link."""

    card: str
    port: str | NotMeasured


def find_cards(files: BenchFiles) -> list[str] | NotMeasured:
    """Addresses of the card functions on the bus, in bus order; virtual functions are no cards."""
    try:
        names = files.list_folder(DEVICES)
    except OSError as error:
        return why_unread(error, DEVICES)
    found: list[str] = []
    for name in names:
        attributes = Attributes(files, f"{DEVICES}/{name}")
        class_code = known(attributes.hexadecimal("class"))
        if class_code is None or class_code >> 8 not in CARD_CLASSES:
            continue
        if not _exists(files, f"{attributes.folder}/physfn"):
            found.append(name)
    return sorted(found)


def link_ends(files: BenchFiles, folder: str) -> Ends:
    """The card's end and the port above it.

    Some cards carry a PCI Express switch: then the function's own link is a trace on the card, and
    the slot's link begins at the switch. Up to two bridges above the function are taken for such a
    switch while they are the card's own vendor's and not a root port.
    """
    try:
        parts = files.resolve(folder).split("/")
    except OSError as error:
        return Ends(folder, why_unread(error, "place on the bus"))
    first = next((i for i, part in enumerate(parts) if ADDRESS.fullmatch(part)), len(parts))
    at = len(parts) - 1
    vendor = known(Attributes(files, folder).hexadecimal("vendor"))
    for _ in range(_SWITCH_PORTS):
        above = "/".join(parts[:at])
        if at - 1 <= first or known(Attributes(files, above).hexadecimal("vendor")) != vendor:
            break
        at -= 1
    card = folder if at == len(parts) - 1 else "/".join(parts[: at + 1])
    if at <= first:
        return Ends(card, NotMeasured(LinuxReason.NO_PORT_ABOVE()))
    return Ends(card, "/".join(parts[:at]))


def configuration_space(files: BenchFiles, folder: str) -> ConfigurationSpace | NotMeasured:
    """The bytes of ``config`` that the privilege at hand allows, at least the 64 of the header."""
    try:
        data = files.read_bytes(f"{folder}/config", EXTENDED_BYTES)
    except OSError as error:
        return why_unread(error, "config")
    if len(data) < HEADER_BYTES:
        short = LinuxReason.CONFIG_TOO_SHORT(bytes_there=len(data), header_bytes=HEADER_BYTES)
        return NotMeasured(short)
    return ConfigurationSpace(data)


def read_identity(
    files: BenchFiles, address: str, names: PciNames, *, simulated: bool = False
) -> Identity:
    """Who the card says it is; ids that sysfs does not give are taken from its registers or 0."""
    folder = f"{DEVICES}/{address}"
    attributes = Attributes(files, folder)
    space = configuration_space(files, folder)
    vendor_id = _id(attributes, "vendor", space, "vendor_id")
    device_id = _id(attributes, "device", space, "device_id")
    class_code = _id(attributes, "class", space, "class_code")
    subsystem_vendor = _either(attributes, "subsystem_vendor", space, "subsystem_vendor_id")
    subsystem = _either(attributes, "subsystem_device", space, "subsystem_id")
    driver, driver_version = _driver(files, folder)
    bars = read_bars(attributes)
    return Identity(
        address=address,
        vendor_id=vendor_id,
        device_id=device_id,
        subsystem_vendor_id=subsystem_vendor,
        subsystem_id=subsystem,
        revision=_either(attributes, "revision", space, "revision"),
        class_code=class_code,
        name=_card_name(attributes, names, (vendor_id, device_id), (subsystem_vendor, subsystem)),
        vendor_name=names.vendor(vendor_id),
        driver=driver,
        driver_version=driver_version,
        firmware_version=attributes.text("vbios_version"),
        memory_bytes=_memory(attributes, bars),
        serial=_serial(attributes, space),
        uuid=NotMeasured(LinuxReason.NO_UUID()),
        bars=bars,
        simulated=simulated,
        # amdgpu tells what the board's own memory holds (Linux gpu/amdgpu/driver-misc.rst)
        board_part_number=attributes.text("product_number"),
    )


def read_bars(attributes: Attributes) -> tuple[Bar, ...]:
    """Memory windows from ``resource``: start, end, flags a line, the first six being the BARs."""
    text = attributes.text("resource")
    if isinstance(text, NotMeasured):
        return ()
    found: list[Bar] = []
    for number, line in enumerate(text.splitlines()[:6]):
        try:
            start, end, flags = (int(part, 16) for part in line.split())
        except ValueError:
            continue
        if end > start and not flags & _IO:
            found.append(Bar(number, end - start + 1, bool(flags & _PREFETCHABLE)))
    return tuple(found)


def _exists(files: BenchFiles, path: str) -> bool:
    try:
        files.resolve(path)
    except OSError:
        return False
    return True


def _either(
    attributes: Attributes, name: str, space: ConfigurationSpace | NotMeasured, register: str
) -> int | NotMeasured:
    told = attributes.hexadecimal(name)
    if not isinstance(told, NotMeasured) or isinstance(space, NotMeasured):
        return told
    value: int | NotMeasured = getattr(space, register)
    return value


def _id(
    attributes: Attributes, name: str, space: ConfigurationSpace | NotMeasured, register: str
) -> int:
    return known(_either(attributes, name, space, register)) or 0


def _driver(files: BenchFiles, folder: str) -> tuple[str | NotMeasured, str | NotMeasured]:
    try:
        path = files.resolve(f"{folder}/driver")
    except OSError:
        none = NotMeasured(LinuxReason.NO_DRIVER())
        return none, none
    name = path.rsplit("/", 1)[-1]
    try:
        module = files.resolve(f"{path}/module")
    except OSError:
        module = f"/sys/module/{name}"
    version = Attributes(files, module).text("version")
    if isinstance(version, NotMeasured):
        version = NotMeasured(LinuxReason.DRIVER_HAS_NO_VERSION(driver=name))
    return name, version


def _card_name(
    attributes: Attributes,
    names: PciNames,
    device: tuple[int, int],
    board: tuple[int | NotMeasured, int | NotMeasured],
) -> str | NotMeasured:
    product = known(attributes.text("product_name"))
    if product is not None:
        return product
    maker, model = known(board[0]), known(board[1])
    if maker is not None and model is not None:
        listed = known(names.board(*device, maker, model))
        if listed is not None:
            return listed
    return names.device(*device)


def _memory(attributes: Attributes, bars: tuple[Bar, ...]) -> int | NotMeasured:
    """The driver's own figure; a window's size is neither memory's size nor a bound of it.

    Windows are powers of two and may be smaller or larger than the memory behind them: one recorded
    card shows 80 GB through a window of 128 GiB.
    """
    told = attributes.integer("mem_info_vram_total")
    if not isinstance(told, NotMeasured):
        return told
    widest = max((bar.size_bytes for bar in bars if bar.prefetchable), default=0)
    if not widest:
        return NotMeasured(LinuxReason.MEMORY_SIZE_UNTOLD())
    return NotMeasured(LinuxReason.MEMORY_WINDOW_ONLY(window_mib=widest / (1 << 20)))


def _serial(attributes: Attributes, space: ConfigurationSpace | NotMeasured) -> str | NotMeasured:
    told = attributes.text("unique_id")
    if not isinstance(told, NotMeasured) or isinstance(space, NotMeasured):
        return told
    number = space.serial_number()
    if isinstance(number, NotMeasured):
        return NotMeasured(LinuxReason.NO_SERIAL(reason=number.reason))
    return number
