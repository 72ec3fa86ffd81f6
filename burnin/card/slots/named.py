"""The name of the slot that a card sits in, as the board's firmware or the kernel tells it.

The firmware's name is printed on the board, beside the slot; its structures are read by root alone
(Linux Documentation/ABI/testing/sysfs-firmware-dmi-entries). The kernel's list of slots is there
for everybody (Documentation/ABI/testing/sysfs-bus-pci-slots or the lack of it: only where a driver
of slots is loaded), and its names are mostly numbers.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from burnin.card.attributes import Attributes
from burnin.card.files import BenchFiles
from burnin.card.slots.meanings import SlotReason
from burnin.card.slots.smbios import MOST_BYTES, FirmwareSlot, shown_name, slot_in
from burnin.core.reading import NotMeasured

SLOTS = "/sys/bus/pci/slots"
FIRMWARE = "/sys/firmware/dmi/entries"
_SYSTEM_SLOT = re.compile(r"9-\d{1,4}", re.ASCII)
_PLACE = re.compile(r"[0-9a-f]{4,}:[0-9a-f]{2}:[0-9a-f]{2}", re.ASCII)
_MOST_SLOTS = 64


def slot_name(files: BenchFiles, card: str, port: str) -> str | NotMeasured:
    """What people call the slot of the function `card` below the port `port`, both by address."""
    by_firmware = tuple(firmware_slots(files))
    # Some boards name the function in the slot, others the port above it (practice, no source).
    for wanted in (card, port):
        for slot in by_firmware:
            if slot.address == wanted:
                return slot.name
    for name, place in kernel_slots(files):
        if place == card.rpartition(".")[0]:
            return name
    return NotMeasured(SlotReason.NO_NAME())


def firmware_slots(files: BenchFiles) -> Iterator[FirmwareSlot]:
    """Every slot that the firmware describes, as far as its structures may be read and hold."""
    names = [name for name in Attributes(files, FIRMWARE).names() if _SYSTEM_SLOT.fullmatch(name)]
    for name in names[:_MOST_SLOTS]:
        try:
            raw = files.read_bytes(f"{FIRMWARE}/{name}/raw", MOST_BYTES)
        except OSError:
            continue
        slot = slot_in(raw)
        if slot is not None:
            yield slot


def kernel_slots(files: BenchFiles) -> Iterator[tuple[str, str]]:
    """Name and place (domain, bus and device) of each slot that the kernel lists."""
    for name in Attributes(files, SLOTS).names()[:_MOST_SLOTS]:
        place = Attributes(files, f"{SLOTS}/{name}").text("address")
        shown = shown_name(name.encode("utf-8", "replace"))
        if isinstance(place, str) and shown and _PLACE.fullmatch(place.lower()):
            yield shown, place.lower()
