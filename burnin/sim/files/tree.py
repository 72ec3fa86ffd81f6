"""The files of the simulated bench: which path answers what, as Linux lays them out."""

from __future__ import annotations

from collections.abc import Mapping

from burnin.sim.files.answers import Node, SymbolicLink, text
from burnin.sim.files.bridge import port_folder, way_files
from burnin.sim.files.drm import connector_files
from burnin.sim.files.host import host_files
from burnin.sim.files.hwmon import hwmon_files
from burnin.sim.files.kernel_log import PATH as KERNEL_LOG
from burnin.sim.files.kernel_log import whole_log
from burnin.sim.files.pci import card_files, port_files, throttle_files
from burnin.sim.files.slots import slot_files
from burnin.sim.physics.kernel_says import CARD, DRIVER, PORT
from burnin.sim.physics.machine import Machine


def nodes(machine: Machine) -> dict[str, Node]:
    """Every file and symbolic link of the bench, by absolute path."""
    found: dict[str, Node] = host_files(machine) | way_files(machine.scenario.bench)
    above = port_folder(machine.scenario.bench)
    own = f"{above}/{CARD}"

    def add(folder: str, files: Mapping[str, Node]) -> None:
        found.update({f"{folder}/{name}": node for name, node in files.items()})

    found |= slot_files(1, CARD)
    found[KERNEL_LOG] = lambda: whole_log(machine.kernel)
    found[f"/sys/bus/pci/devices/{PORT}"] = SymbolicLink(above)
    add(above, port_files(machine))
    found["/sys/bus/pci/drivers/pcieport/bind"] = text("")
    found["/sys/class/drm/version"] = text("drm 1.1.0 20060810")
    found[f"/sys/module/{DRIVER}/version"] = text("3.2.0-simulated")
    found[f"/sys/bus/pci/drivers/{DRIVER}/module"] = SymbolicLink(f"/sys/module/{DRIVER}")
    if not machine.started:
        return found
    found[f"/sys/bus/pci/devices/{CARD}"] = SymbolicLink(own)
    add(own, card_files(machine))
    add(f"{own}/tile0/gt0/freq0/throttle", throttle_files(machine))
    monitor = f"{own}/hwmon/hwmon0"
    found["/sys/class/hwmon/hwmon0"] = SymbolicLink(monitor)
    add(monitor, hwmon_files(machine))
    found[f"{monitor}/device"] = SymbolicLink(own)
    screen = f"{own}/drm/card0"
    found["/sys/class/drm/card0"] = SymbolicLink(screen)
    found[f"{screen}/device"] = SymbolicLink(own)
    found[f"{screen}/dev"] = text("226:0")
    for output in machine.outputs:
        folder = f"{screen}/card0-{output.name}"
        found[f"/sys/class/drm/card0-{output.name}"] = SymbolicLink(folder)
        add(folder, connector_files(machine, output, screen))
    return found
