"""Which files of a bench are copied: all attributes of its cards, their ports, outputs, sensors."""

from __future__ import annotations

import re
from collections.abc import Iterator

from burnin.card.attributes import Attributes
from burnin.card.files import BenchFiles
from burnin.card.slots.named import FIRMWARE, SLOTS
from burnin.card.sources.drm import DRM
from burnin.card.sources.link import AER_FILES
from burnin.card.sources.pci_devices import ADDRESS, DEVICES

OF_BENCH = (
    *("/etc/os-release", "/proc/sys/kernel/osrelease", "/proc/sys/kernel/random/boot_id"),
    *("/proc/uptime", "/proc/cpuinfo", "/proc/meminfo", "/proc/cmdline"),
    *("/sys/class/dmi/id/board_name", "/sys/class/dmi/id/board_vendor"),
    *("/sys/class/dmi/id/bios_version", "/sys/module/pcie_aspm/parameters/policy"),
    "/sys/kernel/security/lockdown",
)
"""Facts of the bench; what names one bench among all (machine-id, serial numbers) is left out."""
OF_EVERY_FUNCTION = ("vendor", "device", "class", *AER_FILES)
"""Attributes of functions that are neither card nor port: enough to find the cards among them."""
_NEVER = re.compile(
    r"rom|resource\d+(?:_wc)?|vpd|remove|rescan|reset\w*|driver_override|msi_bus|uevent|.*_store"
    r"|autosuspend_delay_ms|wakeup\w*|numa_node|local_cpu\w*|trigger\w*",
    re.ASCII,
)
"""Attributes that are no reading: reading them costs seconds, changes something or says nothing."""
_FOLDERS = ("hwmon", "drm", "power", "link", "throttle", "gt")
"""Folders of a device whose attributes are copied too, at any depth below it."""
_DEEPEST = 4


def of_device(files: BenchFiles, folder: str, depth: int = 0) -> Iterator[str]:
    """Every attribute in a device's folder and in those below it that speak of the device."""
    for name in Attributes(files, folder).names():
        path = f"{folder}/{name}"
        if _NEVER.fullmatch(name) or ADDRESS.fullmatch(name):
            continue
        if _is_folder(files, path):
            inside = depth > 0 or name.split(".")[0].rstrip("0123456789") in _FOLDERS
            if inside and depth < _DEEPEST and name not in ("device", "subsystem", "driver"):
                yield from of_device(files, path, depth + 1)
            continue
        yield path


def of_output(card: str, output: str) -> tuple[str, ...]:
    """What of an output is set by hand: ``card0`` and ``DP-1``."""
    by_hand = f"/sys/kernel/debug/dri/{card.removeprefix('card')}/{output}"
    return f"{by_hand}/force", f"{by_hand}/edid_override"


def functions(files: BenchFiles) -> Iterator[str]:
    """Folder of every function on the bus."""
    yield from (f"{DEVICES}/{name}" for name in Attributes(files, DEVICES).names())


def slots(files: BenchFiles) -> Iterator[str]:
    """What tells the names of the board's slots; no serial number stands there."""
    yield from (f"{SLOTS}/{name}/address" for name in Attributes(files, SLOTS).names())
    firmware = Attributes(files, FIRMWARE).names()
    yield from (f"{FIRMWARE}/{name}/raw" for name in firmware if name.startswith("9-"))


def outputs(files: BenchFiles) -> Iterator[str]:
    """Names in the folder of the kernel's graphics layer: cards and their connectors."""
    yield from (name for name in Attributes(files, DRM).names() if name.startswith("card"))


def _is_folder(files: BenchFiles, path: str) -> bool:
    try:
        files.list_folder(path)
    except OSError:
        return False
    return True
