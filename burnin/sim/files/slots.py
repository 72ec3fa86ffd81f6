"""A simulated slot by name: in the kernel's list of slots, and as the board's firmware tells it."""

from __future__ import annotations

from burnin.sim.files.answers import Node, text

SLOTS, FIRMWARE = "/sys/bus/pci/slots/", "/sys/firmware/dmi/entries/"


def slot_files(number: int, card: str) -> dict[str, Node]:
    """Files by absolute path of the slot of a number, counted from 1, with a card at an address."""
    place, structure = card.rpartition(".")[0], _structure(number, card)
    return {
        f"{SLOTS}{number}/address": text(place),
        f"{FIRMWARE}9-{number - 1}/raw": lambda: structure,
    }


def _structure(number: int, card: str) -> bytes:
    """SMBIOS type 9 (DMTF DSP0134, 7.10) as of version 2.6, with its one string."""
    segment, bus, function = card.split(":")
    device, _, part = function.partition(".")
    fixed = bytes([9, 0x11]) + (0x0900 + number).to_bytes(2, "little")
    fixed += bytes([1, 0xB1, 0x0D, 0x04, 0x04]) + number.to_bytes(2, "little") + bytes([0x0C, 0x01])
    fixed += int(segment, 16).to_bytes(2, "little")
    fixed += bytes([int(bus, 16), int(device, 16) << 3 | int(part, 16)])
    return fixed + f"PCIE{number}".encode() + b"\0\0"
