"""Of the bench's list of PCI names those of the devices that are there: the whole is too large."""

from __future__ import annotations

from collections.abc import Iterator

from burnin.card.attributes import Attributes
from burnin.card.files import BenchFiles
from burnin.card.recording import places
from burnin.card.sources.pci_names import LISTS
from burnin.core.reading import known

_LIMIT_BYTES = 16 << 20


def names_at_hand(files: BenchFiles) -> tuple[str, str] | None:
    """Path and content of the list, shortened; None where the bench has none."""
    there = {
        (known(device.hexadecimal("vendor")), known(device.hexadecimal("device")))
        for function in places.functions(files)
        if (device := Attributes(files, function))
    }
    wanted = {(f"{v:04x}", f"{d:04x}") for v, d in there if v is not None and d is not None}
    for path in LISTS:
        try:
            text = files.read_bytes(path, _LIMIT_BYTES).decode("utf-8", errors="replace")
        except OSError:
            continue
        return path, "".join(f"{line}\n" for line in _shortened(text, wanted))
    return None


def _shortened(text: str, wanted: set[tuple[str, str]]) -> Iterator[str]:
    """A vendor's line, and below it the devices that are there with their boards."""
    vendor, of_device = "", False
    vendors = {vendor for vendor, _ in wanted}
    for line in text.splitlines():
        if line.startswith("C "):
            return
        if line[:1] not in ("\t", "#", ""):
            vendor, of_device = line[:4].lower(), False
            if vendor in vendors:
                yield line
        elif line.startswith("\t\t"):
            if of_device:
                yield line
        elif line.startswith("\t"):
            of_device = (vendor, line[1:5].lower()) in wanted
            if of_device:
                yield line
