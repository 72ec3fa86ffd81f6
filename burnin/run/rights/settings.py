"""Texts in which the kernel tells how a bench is set up."""

from __future__ import annotations

from burnin.card.attributes import Attributes
from burnin.card.files import BenchFiles
from burnin.core.reading import NotMeasured

COMMAND_LINE = "/proc/cmdline"
ASPM_POLICY = "/sys/module/pcie_aspm/parameters/policy"
LOCKDOWN = "/sys/kernel/security/lockdown"


def settings_of(files: BenchFiles) -> dict[str, str | NotMeasured]:
    """The texts that tell of the bench's set-up, by their place."""
    root = Attributes(files, "")
    return {path: root.text(path.lstrip("/")) for path in (COMMAND_LINE, ASPM_POLICY, LOCKDOWN)}
