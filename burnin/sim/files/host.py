"""Files about the host itself; its name says that it is simulated."""

from __future__ import annotations

import uuid

from burnin.sim.files.answers import Node, text
from burnin.sim.physics.machine import Machine

MACHINE_NAME = "burnin simulated machine"
_PCI_NAMES = "\n".join(
    (
        "f5a7  Corvane",
        "\t0004  Silt 4",
        "\t0009  Strata 9",
        "\t0107  Massif 7",
        "f5a8  Simulated bench",
        "\t0001  Root port",
        "\t0002  Bridge port",
        "\t0010  Network card",
    )
)
"""Names of invented vendors, laid out as pci.ids is."""


def host_files(machine: Machine) -> dict[str, Node]:
    """Files by absolute path: system, processor, boot, board, names of PCI devices."""
    boot = uuid.uuid5(uuid.NAMESPACE_OID, f"{machine.scenario.name} {machine.seed}")
    cores = "\n".join(
        f"processor\t: {core}\nvendor_id\t: Simulated\nmodel name\t: Simulated processor\n"
        for core in range(8)
    )
    release = "6.12.0-simulated"
    return {
        "/sys/class/dmi/id/product_name": text(MACHINE_NAME),
        "/sys/class/dmi/id/sys_vendor": text("burnin"),
        "/sys/class/dmi/id/board_vendor": text("burnin"),
        "/sys/class/dmi/id/bios_version": text("simulated"),
        "/sys/class/dmi/id/board_name": text(f"scenario {machine.scenario.name}"),
        "/etc/machine-id": text(uuid.uuid5(uuid.NAMESPACE_OID, MACHINE_NAME).hex),
        "/proc/sys/kernel/random/boot_id": text(str(boot)),
        "/proc/sys/kernel/ostype": text("Linux"),
        "/proc/sys/kernel/osrelease": text(release),
        "/proc/sys/kernel/hostname": text("simulated-bench"),
        "/proc/version": text(f"Linux version {release} (simulated)"),
        "/proc/cpuinfo": text(cores),
        "/proc/meminfo": text("MemTotal:       32768000 kB\nMemFree:        16384000 kB"),
        "/proc/uptime": lambda: f"{machine.uptime_s:.2f} {machine.uptime_s:.2f}\n".encode(),
        "/usr/share/misc/pci.ids": text(_PCI_NAMES),
        "/etc/os-release": text(f'PRETTY_NAME="{MACHINE_NAME}"\nID=simulated'),
    }
