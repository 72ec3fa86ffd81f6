"""Each thing that the tool reads or does on a machine, where, and what right it takes.

Which right: Linux drivers/pci/pci-sysfs.c (configuration space beyond 64 bytes: CAP_SYS_ADMIN),
kernel/printk/printk.c (the kernel's log: CAP_SYSLOG under kernel.dmesg_restrict), the modes that
drivers give their files in sysfs (0444: everybody), machine-id(5); groups of device files are the
distribution's (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass

from burnin.core.meaning import Term
from burnin.run.rights.meanings import RightLost, RightNeeded, RightThing

_DEVICE = "/sys/bus/pci/devices/*"
_LISTS_OF_NAMES = ("/usr/share/hwdata", "/usr/share/misc", "/var/lib/pciutils")


@dataclass(frozen=True)
class Thing:
    """A thing, the places where it lies (``*`` for any name), what it takes, what is lost."""

    name: Term
    places: tuple[str, ...]
    needs: Term
    without: Term


BUS = Thing(
    RightThing.BUS(), ("/sys/bus/pci/devices",), RightNeeded.NOTHING(), RightLost.BUS()
)
IDENTITY = Thing(
    RightThing.IDENTITY(),
    (f"{_DEVICE}/vendor", "/sys/module", *_LISTS_OF_NAMES),
    RightNeeded.NOTHING(),
    RightLost.IDENTITY(),
)
CONFIG_OF_CARD = Thing(
    RightThing.CONFIG_OF_CARD(),
    (f"{_DEVICE}/config",),
    RightNeeded.SYS_ADMIN(),
    RightLost.CONFIG_OF_CARD(),
)
CONFIG_OF_PORT = Thing(
    RightThing.CONFIG_OF_PORT(),
    (f"{_DEVICE}/config",),
    RightNeeded.SYS_ADMIN(),
    RightLost.CONFIG_OF_PORT(),
)
LINK = Thing(
    RightThing.LINK(), (f"{_DEVICE}/current_link_speed",), RightNeeded.NOTHING(), RightLost.LINK()
)
POSITION = Thing(
    RightThing.POSITION(),
    (_DEVICE, "/sys/bus/pci/slots"),
    RightNeeded.NOTHING(),
    RightLost.POSITION(),
)
SLOT_NAME = Thing(
    RightThing.SLOT_NAME(),
    ("/sys/firmware/dmi/entries",),
    RightNeeded.SLOT_NAME(),
    RightLost.SLOT_NAME(),
)
LINK_ERRORS = Thing(
    RightThing.LINK_ERRORS(),
    (f"{_DEVICE}/aer_dev_correctable", "/sys/bus/pci_express/drivers"),
    RightNeeded.NOTHING(),
    RightLost.LINK_ERRORS(),
)
MEMORY_ERRORS = Thing(
    RightThing.MEMORY_ERRORS(), (), RightNeeded.VENDOR_FILES(), RightLost.MEMORY_ERRORS()
)
SENSORS = Thing(
    RightThing.SENSORS(), (f"{_DEVICE}/hwmon/*",), RightNeeded.NOTHING(), RightLost.SENSORS()
)
OWN_LIMITS = Thing(
    RightThing.OWN_LIMITS(), (f"{_DEVICE}/hwmon/*",), RightNeeded.NOTHING(), RightLost.OWN_LIMITS()
)
FREE_MEMORY = Thing(
    RightThing.FREE_MEMORY(),
    (f"{_DEVICE}/mem_info_vram_used",),
    RightNeeded.NOTHING(),
    RightLost.FREE_MEMORY(),
)
OUTPUTS = Thing(
    RightThing.OUTPUTS(),
    ("/sys/class/drm", "/sys/kernel/debug/dri"),
    RightNeeded.NOTHING(),
    RightLost.OUTPUTS(),
)
PROCESS_USE = Thing(
    RightThing.PROCESS_USE(),
    ("/proc/*/fdinfo",),
    RightNeeded.OWN_PROCESSES(),
    RightLost.PROCESS_USE(),
)
NVML = Thing(
    RightThing.NVML(),
    ("/dev/nvidiactl", "/dev/nvidia[0-9]*"),
    RightNeeded.VENDOR_FILES(),
    RightLost.NVML(),
)
LOCK = Thing(
    RightThing.LOCK(),
    ("/run/lock/burnin", "/tmp/burnin-lock"),
    RightNeeded.LOCK_FOLDER(),
    RightLost.LOCK(),
)
KERNEL_LOG = Thing(
    RightThing.KERNEL_LOG(), ("/dev/kmsg",), RightNeeded.SYSLOG(), RightLost.KERNEL_LOG()
)
BENCH_FACTS = Thing(
    RightThing.BENCH_FACTS(),
    ("/etc/os-release", "/proc/cpuinfo", "/proc/meminfo", "/proc/sys/kernel", "/sys/class/dmi/id"),
    RightNeeded.NOTHING(),
    RightLost.BENCH_FACTS(),
)
BENCH_IDENTITY = Thing(
    RightThing.BENCH_IDENTITY(),
    ("/etc/machine-id", "/sys/class/dmi/id/board_serial"),
    RightNeeded.MACHINE_ID(),
    RightLost.BENCH_IDENTITY(),
)
BENCH_SETTINGS = Thing(
    RightThing.BENCH_SETTINGS(),
    (
        *("/proc/cmdline", "/sys/module/pcie_aspm/parameters/policy"),
        *("/sys/kernel/security/lockdown", "/sys/firmware/efi/efivars", "/boot"),
    ),
    RightNeeded.NOTHING(),
    RightLost.BENCH_SETTINGS(),
)
BOOT = Thing(
    RightThing.BOOT(),
    ("/proc/sys/kernel/random/boot_id", "/proc/uptime"),
    RightNeeded.NOTHING(),
    RightLost.BOOT(),
)
OF_PROCESSES = (
    *("/proc/*/stat", "/proc/*", "/proc/locks", "/proc/self/status", "/proc/self/fd"),
    "/dev/null",
)
"""Places that every account may read of every process; nothing is measured there."""

THINGS = (
    *(BUS, IDENTITY, CONFIG_OF_CARD, CONFIG_OF_PORT, LINK, POSITION, SLOT_NAME),
    *(LINK_ERRORS, MEMORY_ERRORS),
    *(SENSORS, OWN_LIMITS, FREE_MEMORY, OUTPUTS, PROCESS_USE, NVML, LOCK, KERNEL_LOG),
    *(BENCH_FACTS, BENCH_IDENTITY, BENCH_SETTINGS, BOOT),
)
"""All but the engines, which register themselves, and the folders, which are named at the call."""


def engine(title: str, works_through: Term, places: tuple[str, ...]) -> Thing:
    """An engine, by the API's own name, and the device files that it works through."""
    return Thing(RightThing.ENGINE(engine=title), places, works_through, RightLost.ENGINE())


def records(folder: str) -> Thing:
    """The folder of the records."""
    return Thing(RightThing.RECORDS(), (folder,), RightNeeded.WRITING(), RightLost.RECORDS())


def shop(folder: str) -> Thing:
    """The folder of shop file and key."""
    return Thing(RightThing.SHOP(), (folder,), RightNeeded.WRITING(), RightLost.SHOP())
