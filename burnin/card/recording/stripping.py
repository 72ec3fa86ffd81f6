"""What names one card, one monitor or one bench among all is replaced, and nothing else.

Replaced is content of the same form and length, so that whoever reads a copy reads as much of it.
"""

from __future__ import annotations

import re

from burnin.card.edid.base_block import FIRST_DESCRIPTOR, SERIAL_DESCRIPTOR
from burnin.card.edid.layout import BLOCK_BYTES, CHECKSUM, DESCRIPTOR_BYTES
from burnin.card.pci.config_space import ConfigurationSpace
from burnin.card.pci.registers import EXT_CAP_ID_SERIAL
from burnin.core.reading import NotMeasured

_SERIAL_BYTES = 8
_MADE_UP = bytes(range(1, _SERIAL_BYTES + 1))
_NAMING = re.compile(r"unique_id|serial\w*|\w*uuid|boot_id", re.ASCII)
_UUID = re.compile(rb"[0-9a-fA-F]{8}(?:-[0-9a-fA-F]{4}){3}-[0-9a-fA-F]{12}")
_LETTERS = re.compile(rb"[0-9a-zA-Z]")
_DESCRIPTORS = 4
_OF_CARDS = re.compile(
    rb"(?:pci|pcie_\w+|nomodeset|video|lockdown|acpi\w*|iommu|\w+_iommu|quiet"
    rb"|modprobe\.blacklist|module_blacklist|(?:drm|nvidia|amdgpu|radeon|nouveau|i915|xe)[\w.]*)"
    rb"(?:=.*)?",
    re.ASCII,
)
"""Words of the kernel's command line that can matter to a card (kernel-parameters.rst)."""


def stripped(path: str, data: bytes) -> bytes:
    """The content of a file by its path, with what names somebody replaced."""
    name = path.rsplit("/", 1)[-1]
    if name == "config":
        return _configuration(data)
    if name in ("edid", "edid_override"):
        return _edid(data)
    if _NAMING.fullmatch(name):
        return _LETTERS.sub(b"0", data)
    if name == "cmdline":
        told = b" ".join(word for word in data.split() if _OF_CARDS.fullmatch(word)) + b"\n"
        return _UUID.sub(lambda found: _LETTERS.sub(b"0", found.group(0)), told)
    return data


def plain_serial(text: str) -> str:
    """A serial number or UUID of which only its form is left."""
    return _LETTERS.sub(b"0", text.encode()).decode()


def _configuration(data: bytes) -> bytes:
    """The serial number of the extended capability (PCI Express Base 5.0, 7.9.3)."""
    at = ConfigurationSpace(data).find(EXT_CAP_ID_SERIAL, extended=True)
    if isinstance(at, NotMeasured):
        return data
    begin = at + 4
    return data[:begin] + _MADE_UP[: len(data) - begin] + data[begin + _SERIAL_BYTES :]


def _edid(data: bytes) -> bytes:
    """The serial number and its text (VESA E-EDID 1.4, 3.4.3 and 3.10.3.1).

    A wrong checksum stays as wrong as it was.
    """
    if len(data) < BLOCK_BYTES:
        return data
    base = bytearray(data[:BLOCK_BYTES])
    before = sum(base)
    base[12:16] = _MADE_UP[:4] if any(base[12:16]) else base[12:16]
    for number in range(_DESCRIPTORS):
        at = FIRST_DESCRIPTOR + number * DESCRIPTOR_BYTES
        if base[at : at + 3] == b"\0\0\0" and base[at + 3] == SERIAL_DESCRIPTOR:
            text = bytes(base[at + 5 : at + DESCRIPTOR_BYTES])
            base[at + 5 : at + DESCRIPTOR_BYTES] = _LETTERS.sub(b"0", text)
    base[CHECKSUM] = (base[CHECKSUM] - (sum(base) - before)) % 256
    return bytes(base) + data[BLOCK_BYTES:]
