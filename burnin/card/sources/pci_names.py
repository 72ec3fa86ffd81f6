"""Names of PCI vendors, devices and boards, from the list that the bench's system keeps.

The list (pci.ids of hwdata or pciutils) is a convenience: cards are matched by number, and a card
newer than the list has no name in it. It is read once, and only when somebody asks.
"""

from __future__ import annotations

from burnin.card.file_errors import why_unread
from burnin.card.files import BenchFiles
from burnin.card.sources.meanings import NamesReason
from burnin.core.meaning import Reason
from burnin.core.reading import NotMeasured

LISTS = ("/usr/share/hwdata/pci.ids", "/usr/share/misc/pci.ids", "/var/lib/pciutils/pci.ids")
_LIMIT_BYTES = 16 << 20


class PciNames:
    """The list of one bench; the first of `LISTS` that can be read."""

    def __init__(self, files: BenchFiles) -> None:
        self._files = files
        self._vendors: dict[str, list[str]] | NotMeasured | None = None

    def vendor(self, vendor_id: int) -> str | NotMeasured:
        """The vendor's name."""
        lines = self._section(vendor_id)
        return lines if isinstance(lines, NotMeasured) else _name(lines[0])

    def device(self, vendor_id: int, device_id: int) -> str | NotMeasured:
        """The device's name."""
        lines = self._section(vendor_id)
        if isinstance(lines, NotMeasured):
            return lines
        prefix = f"\t{device_id:04x} "
        for line in lines[1:]:
            if line.startswith(prefix):
                return _name(line)
        return NotMeasured(NamesReason.NO_DEVICE(vendor_id=vendor_id, device_id=device_id))

    def board(
        self, vendor_id: int, device_id: int, subsystem_vendor_id: int, subsystem_id: int
    ) -> str | NotMeasured:
        """The board's name, where the list tells boards of this device apart."""
        lines = self._section(vendor_id)
        if isinstance(lines, NotMeasured):
            return lines
        prefix = f"\t\t{subsystem_vendor_id:04x} {subsystem_id:04x} "
        inside = False
        for line in lines[1:]:
            if not line.startswith("\t\t"):
                inside = line.startswith(f"\t{device_id:04x} ")
            elif inside and line.startswith(prefix):
                return _name(line[2:].replace(" ", "", 1))
        absent = NamesReason.NO_BOARD(vendor_id=subsystem_vendor_id, board_id=subsystem_id)
        return NotMeasured(absent)

    def _section(self, vendor_id: int) -> list[str] | NotMeasured:
        if self._vendors is None:
            self._vendors = self._read()
        if isinstance(self._vendors, NotMeasured):
            return self._vendors
        absent = NotMeasured(NamesReason.NO_VENDOR(vendor_id=vendor_id))
        return self._vendors.get(f"{vendor_id:04x}", absent)

    def _read(self) -> dict[str, list[str]] | NotMeasured:
        reason: Reason = NamesReason.NO_LIST()
        for path in LISTS:
            try:
                raw = self._files.read_bytes(path, _LIMIT_BYTES)
            except FileNotFoundError:
                continue
            except OSError as error:
                reason = NamesReason.LIST_UNREAD(reason=why_unread(error, path).reason)
                continue
            return _by_vendor(raw.decode("utf-8", errors="replace"))
        return NotMeasured(reason)


def _by_vendor(text: str) -> dict[str, list[str]]:
    """Lines of each vendor's section; classes (``C ..``) at the end of the list are left out."""
    sections: dict[str, list[str]] = {}
    lines: list[str] = []
    for line in text.splitlines():
        if not line.strip() or line.startswith("#"):
            continue
        if line.startswith("\t"):
            lines.append(line)
        elif line.startswith("C "):
            break
        else:
            lines = sections.setdefault(line[:4].lower(), [line])
    return sections


def _name(line: str) -> str | NotMeasured:
    """What stands behind the number and white space."""
    parts = line.strip().split(None, 1)
    return parts[1].strip() if len(parts) == 2 else NotMeasured(NamesReason.NAMELESS())
