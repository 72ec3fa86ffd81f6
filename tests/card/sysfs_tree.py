"""A bench's files written out as a folder tree, with the symbolic links that sysfs has."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from burnin.card.files import HostFiles

ROOT_PORT = "0000:00:01.0"
CARD = "0000:01:00.0"
CORVANE = 0xF5A7

RESOURCE = "\n".join(
    [
        "0x0000007c00000000 0x0000007fffffffff 0x000000000014220c",
        "0x0000000000000000 0x0000000000000000 0x0000000000000000",
        "0x0000007bf0000000 0x0000007bf01fffff 0x000000000014220c",
        "0x0000000000000000 0x0000000000000000 0x0000000000000000",
        "0x000000000000e000 0x000000000000e0ff 0x0000000000040101",
        "0x00000000fca00000 0x00000000fca7ffff 0x0000000000040200",
        "0x00000000fca80000 0x00000000fca9ffff 0x0000000000046200",
    ]
)

PORT_ATTRIBUTES = {
    "vendor": "0x8086",
    "device": "0x4c01",
    "class": "0x060400",
    "current_link_speed": "16.0 GT/s PCIe",
    "current_link_width": "16",
    "max_link_speed": "32.0 GT/s PCIe",
    "max_link_width": "16",
}
CARD_ATTRIBUTES = {
    "vendor": f"0x{CORVANE:04x}",
    "device": "0x0901",
    "subsystem_vendor": f"0x{CORVANE:04x}",
    "subsystem_device": "0x0001",
    "revision": "0xc1",
    "class": "0x030000",
    "resource": RESOURCE,
    "vbios_version": "113-C0909-104",
    "mem_info_vram_total": "17163091968",
    "gpu_busy_percent": "37",
    "unique_id": "7c1d02e9aa51f004",
    "current_link_speed": "8.0 GT/s PCIe",
    "current_link_width": "8",
    "max_link_speed": "16.0 GT/s PCIe",
    "max_link_width": "16",
}
HWMON = {
    "name": "corvane",
    "temp1_input": "54000",
    "temp1_label": "edge",
    "temp1_crit": "100000",
    "temp1_emergency": "105000",
    "temp2_input": "67500",
    "temp2_label": "junction",
    "temp2_crit": "110000",
    "temp3_input": "62000",
    "temp3_label": "mem",
    "temp3_crit": "98000",
    "power1_average": "187000000",
    "energy1_input": "91234567890",
    "fan1_input": "1432",
    "pwm1": "102",
    "freq1_input": "2105000000",
    "freq1_label": "sclk",
    "freq2_input": "1249000000",
    "freq2_label": "mclk",
}


@dataclass
class SysfsTree:
    """A tree under `root`; every method writes into it."""

    root: Path

    @property
    def files(self) -> HostFiles:
        return HostFiles(self.root)

    def at(self, path: str) -> Path:
        return self.root / path.lstrip("/")

    def write(self, path: str, content: str | bytes) -> None:
        target = self.at(path)
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(content if isinstance(content, bytes) else content.encode() + b"\n")

    def link(self, path: str, to: str) -> None:
        """A relative symbolic link, as sysfs has them, so that the tree can lie anywhere."""
        source, target = self.at(path), self.at(to)
        source.parent.mkdir(parents=True, exist_ok=True)
        source.symlink_to(_up(source.parent, target))

    def function(self, *chain: str, **attributes: str | bytes) -> str:
        """A PCI function below the ports named before it; gives its real folder."""
        folder = "/sys/devices/pci0000:00/" + "/".join(chain)
        self.at(folder).mkdir(parents=True, exist_ok=True)
        for name, content in attributes.items():
            self.write(f"{folder}/{name}", content)
        by_address = self.at(f"/sys/bus/pci/devices/{chain[-1]}")
        if not by_address.is_symlink():
            self.link(f"/sys/bus/pci/devices/{chain[-1]}", folder)
        return folder

    def driver(self, folder: str, name: str, version: str | None = None) -> None:
        self.at(f"/sys/module/{name}").mkdir(parents=True, exist_ok=True)
        self.at(f"/sys/bus/pci/drivers/{name}").mkdir(parents=True, exist_ok=True)
        self.link(f"/sys/bus/pci/drivers/{name}/module", f"/sys/module/{name}")
        if version is not None:
            self.write(f"/sys/module/{name}/version", version)
        self.link(f"{folder}/driver", f"/sys/bus/pci/drivers/{name}")

    def hwmon(self, folder: str, number: int, **attributes: str) -> None:
        for name, content in attributes.items():
            self.write(f"{folder}/hwmon/hwmon{number}/{name}", content)

    def drm(self, folder: str, number: int, **connectors: dict[str, str | bytes]) -> None:
        """A DRM device with its connectors, e.g. ``DP_1={"status": "connected"}``."""
        card = f"{folder}/drm/card{number}"
        self.at(card).mkdir(parents=True, exist_ok=True)
        self.link(f"{card}/device", folder)
        self.link(f"/sys/class/drm/card{number}", card)
        for name, attributes in connectors.items():
            shown = f"card{number}-{name.replace('_', '-')}"
            for attribute, content in attributes.items():
                self.write(f"{card}/{shown}/{attribute}", content)
            self.link(f"/sys/class/drm/{shown}", f"{card}/{shown}")


def _up(start: Path, target: Path) -> Path:
    """`target` relative to `start` (Path.relative_to cannot walk up before Python 3.12)."""
    common = next(p for p in (start, *start.parents) if target.is_relative_to(p))
    return Path(*[".."] * len(start.relative_to(common).parts)) / target.relative_to(common)


def corvane_bench(root: Path) -> SysfsTree:
    """A bench with one invented card in one slot, everything shown that a driver can show."""
    tree = SysfsTree(root)
    tree.function(ROOT_PORT, **PORT_ATTRIBUTES)
    folder = tree.function(ROOT_PORT, CARD, **CARD_ATTRIBUTES)
    tree.driver(folder, "corvane", "6.12.4")
    tree.hwmon(folder, 3, **HWMON)
    return tree
