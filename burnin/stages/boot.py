"""Which boot of the bench this is, and where a stage that needs several boots keeps what it saw."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from burnin.card.attributes import Attributes
from burnin.card.files import BenchFiles
from burnin.core.reading import NotMeasured
from burnin.stages.meanings import StagesReason


@dataclass(frozen=True)
class Boot:
    """Which boot of the kernel this is, and for how long it has run."""

    boot_id: str
    uptime_s: float


@dataclass(frozen=True)
class StartsKept:
    """Where starts of the bench are kept, and how a run goes on after the next one.

    `log`: the file. `since_utc`: starts that began before say nothing of the card as it is now
    (empty: all count). `command`: what is typed after the next start.
    """

    log: Path
    since_utc: str
    command: str


NOBODY_ASKED = NotMeasured(StagesReason.BOOT_NOT_ASKED())
"""In the place of a boot where none was read."""


def read_boot(files: BenchFiles) -> Boot | NotMeasured:
    """Boot id and uptime of the bench (Linux Documentation/admin-guide/sysctl/kernel.rst, proc)."""
    root = Attributes(files, "")
    boot_id, uptime = root.text("proc/sys/kernel/random/boot_id"), root.text("proc/uptime")
    if isinstance(boot_id, NotMeasured):
        return boot_id
    if isinstance(uptime, NotMeasured):
        return uptime
    try:
        return Boot(boot_id, float(uptime.split()[0]))
    except (ValueError, IndexError):
        return NotMeasured(StagesReason.UPTIME_NOT_A_NUMBER(text=uptime[:40]))
