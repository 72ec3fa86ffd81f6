"""The files of the simulated bench: which path answers what, as Linux lays them out.

Formats follow the kernel: Documentation/ABI/testing/sysfs-bus-pci, sysfs-bus-pci-devices-aer,
Documentation/hwmon/sysfs-interface.rst, and drivers/gpu/drm/drm_sysfs.c.
"""

from __future__ import annotations

import errno
import os
import uuid
from collections.abc import Callable
from dataclasses import dataclass

from burnin.card.simulated.causes import FirmwareCause
from burnin.card.simulated.config_bytes import FALLEN, card_space, port_space
from burnin.card.simulated.hwmon import hwmon_files
from burnin.card.simulated.lanes import GENERATION_GTS
from burnin.card.simulated.machine import Machine
from burnin.card.simulated.outputs import SimulatedOutput

CARD = "0000:01:00.0"
PORT = "0000:00:01.0"
MACHINE_NAME = "burnin simulated machine"
DRIVER = "corvane"
_PORT_FOLDER = f"/sys/devices/pci0000:00/{PORT}"
_CARD_FOLDER = f"{_PORT_FOLDER}/{CARD}"
_NONFATAL = (
    "Undefined", "DLP", "SDES", "TLP", "FCP", "CmpltTO", "CmpltAbrt", "UnxCmplt", "RxOF",
    "MalfTLP", "ECRC", "UnsupReq", "ACSViol", "UncorrIntErr", "BlockedTLP", "AtomicOpBlocked",
    "TLPBlockedErr", "PoisonTLPBlocked",
)

_PCI_NAMES = "\n".join(
    (
        "f5a7  Corvane",
        "\t0004  Silt 4",
        "\t0009  Strata 9",
        "\t0107  Massif 7",
        "f5a8  Simulated bench",
        "\t0001  Root port",
    )
)
"""Names of invented vendors, laid out as pci.ids is."""
_THROTTLE = ("pl1", "pl2", "pl4", "thermal", "prochot", "ratl", "vr_thermalert", "vr_tdc")
"""Reasons that the driver tells, one file each, as Linux's xe driver lays them out."""

Answer = Callable[[], bytes]


@dataclass(frozen=True)
class SymbolicLink:
    """A symbolic link to an absolute path."""

    target: str


Node = Answer | SymbolicLink


def text(value: str) -> Answer:
    """A file that always holds one line."""
    return lambda: f"{value}\n".encode()


def gone(what: str) -> OSError:
    """What a driver's file answers when its card is gone."""
    return OSError(errno.ENODEV, os.strerror(errno.ENODEV), what)


def _ids(machine: Machine) -> dict[str, int]:
    card = machine.scenario.card
    ids = {
        "vendor": card.vendor_id,
        "device": card.device_id,
        "subsystem_vendor": card.subsystem_vendor_id,
        "subsystem": card.subsystem_id,
        "revision": card.revision,
    }
    for cause in machine.scenario.causes:
        if isinstance(cause, FirmwareCause):
            wrong = {
                "vendor": cause.vendor_id,
                "device": cause.device_id,
                "subsystem_vendor": cause.subsystem_vendor_id,
                "subsystem": cause.subsystem_id,
            }
            ids.update({name: value for name, value in wrong.items() if value is not None})
    return ids


def _firmware_version(machine: Machine) -> str:
    version = machine.scenario.card.firmware_version
    for cause in machine.scenario.causes:
        if isinstance(cause, FirmwareCause) and cause.version is not None:
            version = cause.version
    return version


def _speed_text(gts: float) -> str:
    return f"{gts:.1f} GT/s PCIe"


def _counters(names: dict[str, int], total: str) -> bytes:
    lines = [f"{name} {count}" for name, count in names.items()]
    return "\n".join([*lines, f"{total} {sum(names.values())}", ""]).encode()


def _aer(machine: Machine, end: str) -> dict[str, Node]:
    """The kernel's counter files of one end; they are the kernel's own and outlive the card."""
    errors = machine.link.ends[end]

    def fatal() -> bytes:
        names = dict.fromkeys(_NONFATAL, 0)
        if end == "port" and machine.started and not machine.card_answers:
            names["SDES"] = 1
        return _counters(names, "TOTAL_ERR_FATAL")

    return {
        "aer_dev_correctable": lambda: _counters(errors.correctable, "TOTAL_ERR_COR"),
        "aer_dev_fatal": fatal,
        "aer_dev_nonfatal": lambda: _counters(
            dict.fromkeys(_NONFATAL, 0), "TOTAL_ERR_NONFATAL"
        ),
    }


def _bars(machine: Machine) -> tuple[list[tuple[int, int, int]], list[int]]:
    """Lines of ``resource`` (start, end, flags) and the six registers as they read."""
    window = 1 << (machine.memory.size_bytes - 1).bit_length()
    memory, doorbell, registers = 0x60_0000_0000, 0x58_0000_0000, 0xFB00_0000
    prefetchable64 = 0x0014_220C
    lines = [
        (memory, memory + window - 1, prefetchable64),
        (0, 0, 0),
        (doorbell, doorbell + (2 << 20) - 1, prefetchable64),
        (0, 0, 0),
        (0, 0, 0),
        (registers, registers + (512 << 10) - 1, 0x0004_0200),
        (0, 0, 0),
    ]
    raw = [
        memory & 0xFFFF_FFF0 | 0xC, memory >> 32, doorbell & 0xFFFF_FFF0 | 0xC, doorbell >> 32,
        0, registers,
    ]
    return lines, raw


def _card_link(machine: Machine) -> dict[str, Node]:
    """Link files of the card; a fallen card's Link Status reads all ones, which is width 63."""
    card, link = machine.scenario.card, machine.link

    def speed() -> bytes:
        alive = machine.card_answers
        return (_speed_text(link.speed_gts) if alive else "Unknown").encode() + b"\n"

    def width() -> bytes:
        return f"{link.width_lanes if machine.card_answers else 63}\n".encode()

    return {
        "current_link_speed": speed,
        "current_link_width": width,
        "max_link_speed": text(_speed_text(GENERATION_GTS[card.generation])),
        "max_link_width": text(str(card.width_lanes)),
    }


def _card_files(machine: Machine) -> dict[str, Node]:
    """Files of the card's PCI folder."""
    card, link, ids = machine.scenario.card, machine.link, _ids(machine)
    class_code = 0x030200 if card.cooling == "passive" and not card.outputs else 0x030000
    lines, bars = _bars(machine)

    def config() -> bytes:
        if not machine.card_answers:
            return FALLEN
        return card_space(machine.scenario, ids, class_code, link, bars)

    def by_driver(value: Callable[[], str]) -> Answer:
        def answer() -> bytes:
            if not machine.card_answers:
                raise gone("the card's driver")
            return f"{value()}\n".encode()

        return answer

    def busy() -> str:
        return str(round(100.0 * min(1.0, max(machine.activity.core, machine.activity.memory))))

    files: dict[str, Node] = {
        "config": config,
        "vendor": text(f"0x{ids['vendor']:04x}"),
        "device": text(f"0x{ids['device']:04x}"),
        "subsystem_vendor": text(f"0x{ids['subsystem_vendor']:04x}"),
        "subsystem_device": text(f"0x{ids['subsystem']:04x}"),
        "revision": text(f"0x{ids['revision']:02x}"),
        "class": text(f"0x{class_code:06x}"),
        "resource": text(
            "\n".join(f"0x{first:016x} 0x{last:016x} 0x{flags:016x}"
                      for first, last, flags in lines)
        ),
        "enable": text("1"),
        "numa_node": text("0"),
        "power_state": text("D0"),
        "driver": SymbolicLink(f"/sys/bus/pci/drivers/{DRIVER}"),
        "subsystem": SymbolicLink("/sys/bus/pci"),
        "vbios_version": by_driver(lambda: _firmware_version(machine)),
        "product_name": by_driver(lambda: card.name),
        "unique_id": by_driver(lambda: card.serial.replace("-", "")),
        "mem_info_vram_total": by_driver(lambda: str(machine.memory.size_bytes)),
        "gpu_busy_percent": by_driver(busy),
        **_card_link(machine),
        **_aer(machine, "card"),
    }
    return files


def _throttle_files(machine: Machine) -> dict[str, Node]:
    """Files of ``tile0/gt0/freq0/throttle``: `status` and each reason are 0 or 1."""
    reason_of = {"pl1": "power cap", "thermal": "temperature"}

    def flag(why: str | None) -> Answer:
        def answer() -> bytes:
            if not machine.card_answers:
                raise gone("throttle")
            now = machine.power.throttle
            return b"1\n" if now and why in (None, now) else b"0\n"

        return answer

    files: dict[str, Node] = {"status": flag(None)}
    for name in _THROTTLE:
        files[f"reason_{name}"] = flag(reason_of.get(name, "never"))
    return files


def _port_files(machine: Machine) -> dict[str, Node]:
    """Files of the root port's PCI folder."""
    bench, link = machine.scenario.bench, machine.link
    total = {"cor": "RxErr", "nonfatal": "", "fatal": ""}
    files: dict[str, Node] = {
        "config": lambda: port_space(machine.scenario, link),
        "vendor": text("0xf5a8"),
        "device": text("0x0001"),
        "class": text("0x060400"),
        "revision": text("0x00"),
        "driver": SymbolicLink("/sys/bus/pci/drivers/pcieport"),
        "subsystem": SymbolicLink("/sys/bus/pci"),
        "current_link_speed": lambda: f"{_speed_text(link.speed_gts)}\n".encode(),
        "current_link_width": lambda: f"{link.width_lanes}\n".encode(),
        "max_link_speed": text(_speed_text(GENERATION_GTS[bench.slot_generation])),
        "max_link_width": text(str(bench.slot_width_lanes)),
        **_aer(machine, "port"),
    }
    for name in total:
        files[f"aer_rootport_total_err_{name}"] = _rootport_total(machine, name)
    return files


def _rootport_total(machine: Machine, kind: str) -> Answer:
    """Errors that reached the root port, from either end."""

    def answer() -> bytes:
        count = 0
        if kind == "cor":
            count = sum(sum(end.correctable.values()) for end in machine.link.ends.values())
        elif kind == "fatal":
            count = int(machine.started and not machine.card_answers)
        return f"{count}\n".encode()

    return answer


def _connector_files(machine: Machine, output: SimulatedOutput) -> dict[str, Node]:
    """Files of one DRM connector; they hold the driver's last state, gone with the card."""

    def living(value: bytes) -> Answer:
        def answer() -> bytes:
            if not machine.card_answers:
                raise gone(output.name)
            return value

        return answer

    lit = output.connected
    return {
        "status": living(b"connected\n" if lit else b"disconnected\n"),
        "enabled": living(b"enabled\n" if lit else b"disabled\n"),
        "dpms": living(b"On\n" if lit else b"Off\n"),
        "edid": living(output.edid),
        "modes": living("".join(f"{mode}\n" for mode in output.modes).encode()),
        "device": SymbolicLink(f"{_CARD_FOLDER}/drm/card0"),
    }


def _bench_files(machine: Machine) -> dict[str, Node]:
    """Files about the host itself; its name says that it is simulated."""
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


def nodes(machine: Machine) -> dict[str, Node]:
    """Every file and symbolic link of the bench, by absolute path."""
    found: dict[str, Node] = dict(_bench_files(machine))

    def add(folder: str, files: dict[str, Node]) -> None:
        found.update({f"{folder}/{name}": node for name, node in files.items()})

    found[f"/sys/bus/pci/devices/{PORT}"] = SymbolicLink(_PORT_FOLDER)
    add(_PORT_FOLDER, _port_files(machine))
    found["/sys/bus/pci/drivers/pcieport/bind"] = text("")
    found["/sys/class/drm/version"] = text("drm 1.1.0 20060810")
    found[f"/sys/module/{DRIVER}/version"] = text("3.2.0-simulated")
    found[f"/sys/bus/pci/drivers/{DRIVER}/module"] = SymbolicLink(f"/sys/module/{DRIVER}")
    if not machine.started:
        return found
    found[f"/sys/bus/pci/devices/{CARD}"] = SymbolicLink(_CARD_FOLDER)
    add(_CARD_FOLDER, _card_files(machine))
    add(f"{_CARD_FOLDER}/tile0/gt0/freq0/throttle", _throttle_files(machine))
    monitor = f"{_CARD_FOLDER}/hwmon/hwmon0"
    found["/sys/class/hwmon/hwmon0"] = SymbolicLink(monitor)
    add(monitor, {name: answer for name, answer in hwmon_files(machine).items()})
    found[f"{monitor}/device"] = SymbolicLink(_CARD_FOLDER)
    screen = f"{_CARD_FOLDER}/drm/card0"
    found["/sys/class/drm/card0"] = SymbolicLink(screen)
    found[f"{screen}/device"] = SymbolicLink(_CARD_FOLDER)
    found[f"{screen}/dev"] = text("226:0")
    for output in machine.outputs:
        folder = f"{screen}/card0-{output.name}"
        found[f"/sys/class/drm/card0-{output.name}"] = SymbolicLink(folder)
        add(folder, _connector_files(machine, output))
    return found
