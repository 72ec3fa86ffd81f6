"""A bridge between the simulated slot and the processor, and a device that sits beside the card.

The bridge's own link is trained at what the scenario says and stays there.
"""

from __future__ import annotations

from burnin.sim.files.answers import Node, SymbolicLink, text
from burnin.sim.files.config_bytes import DOWNSTREAM_PORT, ROOT_PORT, UPSTREAM_PORT, bridge_space
from burnin.sim.physics.kernel_says import PORT
from burnin.sim.physics.lanes import GENERATION_GTS
from burnin.sim.scenario.parts import BenchBuild

_BUS = "/sys/devices/pci0000:00"
ROOT, UPSTREAM = "0000:00:02.0", "0000:06:00.0"
SIBLING_PORT, SIBLING = "0000:00:01.1", "0000:08:00.0"


def port_folder(bench: BenchBuild) -> str:
    """Where the port above the card lies: at the root, or below the bridge."""
    above = _BUS if bench.uplink_width_lanes is None else f"{_BUS}/{ROOT}/{UPSTREAM}"
    return f"{above}/{PORT}"


def way_files(bench: BenchBuild) -> dict[str, Node]:
    """Files of the bridge, and of a device in the slot beside the card's, by absolute path."""
    found: dict[str, Node] = {}
    width, generation = bench.uplink_width_lanes, bench.uplink_generation
    if width is not None and generation is not None:
        upstream = f"{_BUS}/{ROOT}/{UPSTREAM}"
        found |= _port(f"{_BUS}/{ROOT}", ROOT_PORT, width, generation)
        found |= _port(upstream, UPSTREAM_PORT, width, generation)
    if bench.device_beside:
        sibling = f"{port_folder(bench).rpartition('/')[0]}/{SIBLING_PORT}"
        kind = ROOT_PORT if width is None else DOWNSTREAM_PORT
        found |= _port(sibling, kind, 4, bench.slot_generation)
        device = f"{sibling}/{SIBLING}"
        found[f"/sys/bus/pci/devices/{SIBLING}"] = SymbolicLink(device)
        found[f"{device}/vendor"] = text("0xf5a8")
        found[f"{device}/device"] = text("0x0010")
        found[f"{device}/class"] = text("0x020000")
    return found


def _port(folder: str, kind: int, width: int, generation: int) -> dict[str, Node]:
    speed = f"{GENERATION_GTS[generation]:.1f} GT/s PCIe"
    space = bridge_space(kind, width, generation)
    return {
        f"/sys/bus/pci/devices/{folder.rpartition('/')[2]}": SymbolicLink(folder),
        f"{folder}/config": lambda: space,
        f"{folder}/vendor": text("0xf5a8"),
        f"{folder}/device": text("0x0002"),
        f"{folder}/class": text("0x060400"),
        f"{folder}/revision": text("0x00"),
        f"{folder}/current_link_speed": text(speed),
        f"{folder}/current_link_width": text(str(width)),
        f"{folder}/max_link_speed": text(speed),
        f"{folder}/max_link_width": text(str(width)),
    }
