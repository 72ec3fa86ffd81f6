"""Link and error files of both ends, as the kernel's PCI layer writes them.

Formats: Documentation/ABI/testing/sysfs-bus-pci and sysfs-bus-pci-devices-aer; names of errors as
in drivers/pci/pcie/aer.c.
"""

from __future__ import annotations

from collections.abc import Mapping

from burnin.sim.files.answers import Answer, Node, text
from burnin.sim.physics.lanes import GENERATION_GTS
from burnin.sim.physics.machine import Machine

_NONFATAL = (
    "Undefined", "DLP", "SDES", "TLP", "FCP", "CmpltTO", "CmpltAbrt", "UnxCmplt", "RxOF",
    "MalfTLP", "ECRC", "UnsupReq", "ACSViol", "UncorrIntErr", "BlockedTLP", "AtomicOpBlocked",
    "TLPBlockedErr", "PoisonTLPBlocked",
)



def _speed_text(gts: float) -> str:
    return f"{gts:.1f} GT/s PCIe"


def _counters(names: Mapping[str, int], total: str) -> bytes:
    lines = [f"{name} {count}" for name, count in names.items()]
    return "\n".join([*lines, f"{total} {sum(names.values())}", ""]).encode()


def aer_files(machine: Machine, end: str) -> dict[str, Node]:
    """The kernel's counter files of one end; they are the kernel's own and outlive the card."""
    def fatal() -> bytes:
        names = dict.fromkeys(_NONFATAL, 0)
        if end == "port" and machine.started and not machine.card_answers:
            names["SDES"] = 1
        return _counters(names, "TOTAL_ERR_FATAL")

    return {
        "aer_dev_correctable": lambda: _counters(
            machine.counters.correctable(end), "TOTAL_ERR_COR"
        ),
        "aer_dev_fatal": fatal,
        "aer_dev_nonfatal": lambda: _counters(
            dict.fromkeys(_NONFATAL, 0), "TOTAL_ERR_NONFATAL"
        ),
    }


def card_link_files(machine: Machine) -> dict[str, Node]:
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


def port_link_files(machine: Machine) -> dict[str, Node]:
    """Link files of the port; its link is down, width 0, when the card has fallen."""
    bench, link = machine.scenario.bench, machine.link
    return {
        "current_link_speed": lambda: f"{_speed_text(link.speed_gts)}\n".encode(),
        "current_link_width": lambda: f"{link.width_lanes}\n".encode(),
        "max_link_speed": text(_speed_text(GENERATION_GTS[bench.slot_generation])),
        "max_link_width": text(str(bench.port_width_lanes or bench.slot_width_lanes)),
    }


def rootport_total(machine: Machine, kind: str) -> Answer:
    """Errors that reached the root port, from either end."""

    def answer() -> bytes:
        count = 0
        if kind == "cor":
            count = sum(sum(end.correctable.values()) for end in machine.link.ends.values())
        elif kind == "fatal":
            count = int(machine.started and not machine.card_answers)
        return f"{count}\n".encode()

    return answer
