"""The bench's own facts, for the record: system, kernel, processor, memory, boot.

The bench's name on the network and its users are nobody's business and left out. So is the number
of the installation itself: what tells one bench from another is a digest of it for this tool alone,
as machine-id(5) asks.
"""

from __future__ import annotations

import hashlib
import hmac

from burnin.card.attributes import Attributes
from burnin.card.files import BenchFiles
from burnin.card.sources.meanings import LinuxReason
from burnin.core.reading import NotMeasured

_OF_THIS_TOOL = b"burnin bench"


def describe(files: BenchFiles) -> dict[str, str | NotMeasured]:
    """Facts by name; one that cannot be read has its reason in its place."""
    root = Attributes(files, "")
    return {
        "operating_system": _field(root, "etc/os-release", "PRETTY_NAME", "="),
        "kernel": root.text("proc/sys/kernel/osrelease"),
        "processor": _field(root, "proc/cpuinfo", "model name", ":"),
        "memory": _field(root, "proc/meminfo", "MemTotal", ":"),
        "boot_id": root.text("proc/sys/kernel/random/boot_id"),
        "board": root.text("sys/class/dmi/id/board_name"),
        "board_vendor": root.text("sys/class/dmi/id/board_vendor"),
        "bios_version": root.text("sys/class/dmi/id/bios_version"),
        "bench_identity": bench_identity(files),
    }


def bench_identity(files: BenchFiles) -> str | NotMeasured:
    """Sixteen hexadecimal digits that are this bench's own, or why nothing tells it from others.

    From the installation's machine-id, else from the board's serial number (readable by root).
    """
    root = Attributes(files, "")
    why: NotMeasured | None = None
    for path in ("etc/machine-id", "sys/class/dmi/id/board_serial"):
        number = root.text(path)
        if not isinstance(number, NotMeasured):
            return hmac.new(number.encode(), _OF_THIS_TOOL, hashlib.sha256).hexdigest()[:16]
        why = why or number
    assert why is not None
    return why


def _field(root: Attributes, path: str, key: str, separator: str) -> str | NotMeasured:
    text = root.text(path)
    missing = NotMeasured(LinuxReason.FIELD_MISSING(path=path, field=key))
    if isinstance(text, NotMeasured):
        return text
    for line in text.splitlines():
        name, found, value = line.partition(separator)
        if found and name.strip() == key:
            return value.strip().strip('"') or missing
    return missing
