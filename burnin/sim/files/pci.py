"""The PCI folders of the card and of the port above it, with what the card's driver adds.

Formats: the kernel's Documentation/ABI/testing/sysfs-bus-pci; the driver's own files are named as
GPU drivers name them (``vbios_version``, ``mem_info_vram_total``, ``gpu_busy_percent``).
"""

from __future__ import annotations

from collections.abc import Callable, Collection

from burnin.sim.causes.kinds import FirmwareCause
from burnin.sim.files.answers import Answer, Node, SymbolicLink, gone, hung, text
from burnin.sim.files.config_bytes import FALLEN, card_space, port_space
from burnin.sim.files.link import (
    aer_files,
    card_link_files,
    port_link_files,
    rootport_total,
)
from burnin.sim.physics.kernel_says import DRIVER
from burnin.sim.physics.machine import Machine
from burnin.sim.physics.power import HeldDown

_THROTTLE: dict[str, tuple[HeldDown, ...]] = {
    "pl1": (HeldDown.POWER_LIMIT,),
    "pl2": (),
    "pl4": (),
    "thermal": (HeldDown.HEAT,),
    "prochot": (),
    "ratl": (),
    "vr_thermalert": (),
    "vr_tdc": (),
}
"""Reasons that the driver tells, one file each, as Linux's xe driver lays them out."""

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


_IDLE_MEMORY_MHZ = 96.0


def _levels(low_mhz: float, high_mhz: float, now_mhz: float) -> str:
    """Clocks that the driver may choose from, the one nearest to the present marked."""
    levels = (min(low_mhz, high_mhz), high_mhz)
    near = min(levels, key=lambda level: abs(level - now_mhz))
    return "\n".join(
        f"{number}: {level:.0f}Mhz{' *' if level == near else ''}"
        for number, level in enumerate(levels)
    )


def card_files(machine: Machine) -> dict[str, Node]:
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
            if machine.driver_hangs:
                raise hung("the card's driver")
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
        "pp_dpm_sclk": by_driver(
            lambda: _levels(card.idle_clock_mhz, card.max_clock_mhz, machine.power.clock_mhz)
        ),
        "pp_dpm_mclk": by_driver(
            lambda: _levels(
                _IDLE_MEMORY_MHZ, card.most_memory_clock_mhz, card.memory_clock_mhz
            )
        ),
        **card_link_files(machine),
        **aer_files(machine, "card"),
    }
    return files


def throttle_files(machine: Machine) -> dict[str, Node]:
    """Files of ``tile0/gt0/freq0/throttle``: `status` and each reason are 0 or 1."""
    def flag(reasons: Collection[HeldDown]) -> Answer:
        def answer() -> bytes:
            if not machine.card_answers:
                raise gone("throttle")
            if machine.driver_hangs:
                raise hung("throttle")
            return b"1\n" if machine.power.held_down in reasons else b"0\n"

        return answer

    files: dict[str, Node] = {"status": flag(tuple(HeldDown))}
    for name in _THROTTLE:
        files[f"reason_{name}"] = flag(_THROTTLE[name])
    return files


def port_files(machine: Machine) -> dict[str, Node]:
    """Files of the root port's PCI folder."""
    link = machine.link
    files: dict[str, Node] = {
        "config": lambda: port_space(machine.scenario, link),
        "vendor": text("0xf5a8"),
        "device": text("0x0001"),
        "class": text("0x060400"),
        "revision": text("0x00"),
        "driver": SymbolicLink("/sys/bus/pci/drivers/pcieport"),
        "subsystem": SymbolicLink("/sys/bus/pci"),
        **port_link_files(machine),
        **aer_files(machine, "port"),
    }
    for name in ("cor", "nonfatal", "fatal"):
        files[f"aer_rootport_total_err_{name}"] = rootport_total(machine, name)
    return files
