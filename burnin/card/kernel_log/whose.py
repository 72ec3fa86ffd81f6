"""Of whom a line of the kernel's log speaks: the card, its port, its driver, another device."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from burnin.card.kernel_log.records import KernelRecord


class Whose(StrEnum):
    """Whom a line is about."""

    CARD = "card"
    PORT = "port"
    DRIVER = "driver"
    OTHER = "other device"
    NOBODY = "nobody"


_FULL = re.compile(
    r"(?<![0-9a-f.])(?<![0-9a-f]:)([0-9a-f]{4,8}):([0-9a-f]{2}):([0-9a-f]{2})(?:\.([0-7]))?(?!:?[0-9a-f])",
    re.ASCII,
)
_WITHOUT_DOMAIN = re.compile(
    r"(?:device \[|device=)([0-9a-f]{2}):([0-9a-f]{2})\.([0-7])(?![0-9a-f:])", re.ASCII
)
"""How the IOMMU drivers of Linux write an address: ``Request device [01:00.0]``."""


@dataclass(frozen=True)
class Place:
    """Where the card under test sits; addresses as Linux writes them.

    `port` is the port above it, empty where there is none. `driver` names the kernel's driver of
    the card; `only_of_driver`: no other device of this bench has the same one.
    """

    card: str
    port: str = ""
    driver: str = ""
    only_of_driver: bool = False


@dataclass(frozen=True)
class About:
    """Whom a line is about, and the address that it names; empty where it names none."""

    whose: Whose
    address: str


def addresses(record: KernelRecord) -> Iterator[str]:
    """Every PCI address that a record names, as it names it; the function may be missing.

    >>> list(addresses(KernelRecord("DMAR: [DMA Read] Request device [01:00.0] fault addr 0", 3)))
    ['0000:01:00.0']
    """
    for found in _FULL.finditer(record.text):
        yield found.group(0)
    for found in _WITHOUT_DOMAIN.finditer(record.text):
        yield f"0000:{found.group(1)}:{found.group(2)}.{found.group(3)}"
    kind, _, address = record.device.partition(":")
    if kind == "pci" and _FULL.fullmatch(address):
        yield address


def about(record: KernelRecord, place: Place) -> About:
    """Whom a record is about: what it names in its text goes before the tag of who said it.

    A root port tells of an error that a card reported, and names the card in the text.
    """
    named = list(addresses(record))
    for address in named:
        if place.card and _device(address) == _device(place.card):
            return About(Whose.CARD, address)
    if place.port and place.port in named:
        return About(Whose.PORT, place.port)
    if named:
        return About(Whose.OTHER, named[0])
    if place.driver and _by_driver(record, place.driver):
        return About(Whose.DRIVER if place.only_of_driver else Whose.OTHER, "")
    return About(Whose.NOBODY, "")


def _device(address: str) -> str:
    """An address without its function: all functions of a card share its link and its power."""
    domain, _, rest = address.partition(":")
    return f"{int(domain, 16):x}:{rest.partition('.')[0]}"


_ALSO_SAID_BY = {"nvidia": ("NVRM",)}
"""How a driver's lines begin where it is not by its own name."""


def _by_driver(record: KernelRecord, driver: str) -> bool:
    names = (driver, *_ALSO_SAID_BY.get(driver, ()))
    text = record.text
    return any(text.startswith((f"{name}:", f"{name} ")) or f"[{name}]" in text for name in names)
