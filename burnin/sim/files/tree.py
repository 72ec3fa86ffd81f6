"""The files of the simulated bench: which path answers what, as Linux lays them out."""

from __future__ import annotations

from collections.abc import Mapping

from burnin.sim.files.answers import Node, SymbolicLink, text
from burnin.sim.files.drm import connector_files
from burnin.sim.files.host import host_files
from burnin.sim.files.hwmon import hwmon_files
from burnin.sim.files.pci import DRIVER, card_files, port_files, throttle_files
from burnin.sim.physics.machine import Machine

CARD = "0000:01:00.0"
PORT = "0000:00:01.0"
_PORT_FOLDER = f"/sys/devices/pci0000:00/{PORT}"
_CARD_FOLDER = f"{_PORT_FOLDER}/{CARD}"


def nodes(machine: Machine) -> dict[str, Node]:
    """Every file and symbolic link of the bench, by absolute path."""
    found: dict[str, Node] = host_files(machine)

    def add(folder: str, files: Mapping[str, Node]) -> None:
        found.update({f"{folder}/{name}": node for name, node in files.items()})

    found[f"/sys/bus/pci/devices/{PORT}"] = SymbolicLink(_PORT_FOLDER)
    add(_PORT_FOLDER, port_files(machine))
    found["/sys/bus/pci/drivers/pcieport/bind"] = text("")
    found["/sys/class/drm/version"] = text("drm 1.1.0 20060810")
    found[f"/sys/module/{DRIVER}/version"] = text("3.2.0-simulated")
    found[f"/sys/bus/pci/drivers/{DRIVER}/module"] = SymbolicLink(f"/sys/module/{DRIVER}")
    if not machine.started:
        return found
    found[f"/sys/bus/pci/devices/{CARD}"] = SymbolicLink(_CARD_FOLDER)
    add(_CARD_FOLDER, card_files(machine))
    add(f"{_CARD_FOLDER}/tile0/gt0/freq0/throttle", throttle_files(machine))
    monitor = f"{_CARD_FOLDER}/hwmon/hwmon0"
    found["/sys/class/hwmon/hwmon0"] = SymbolicLink(monitor)
    add(monitor, hwmon_files(machine))
    found[f"{monitor}/device"] = SymbolicLink(_CARD_FOLDER)
    screen = f"{_CARD_FOLDER}/drm/card0"
    found["/sys/class/drm/card0"] = SymbolicLink(screen)
    found[f"{screen}/device"] = SymbolicLink(_CARD_FOLDER)
    found[f"{screen}/dev"] = text("226:0")
    for output in machine.outputs:
        folder = f"{screen}/card0-{output.name}"
        found[f"/sys/class/drm/card0-{output.name}"] = SymbolicLink(folder)
        add(folder, connector_files(machine, output, screen))
    return found
