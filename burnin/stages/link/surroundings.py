"""The slot around a link: what its port is held at, where it sits, and what is put on record."""

from __future__ import annotations

from burnin.card.topology import CardPosition, PortOnTheWay
from burnin.core.meaning import Note
from burnin.core.reading import NotMeasured, known
from burnin.stages.context import StageContext
from burnin.stages.link.ends_seen import Needs
from burnin.stages.link.expectation import Surroundings
from burnin.stages.link.meanings import LinkNote


def port_target_gts(card: Needs) -> float | NotMeasured:
    """The rate that the port is held at.

    To be read before the traffic: a kernel may lower it for a link that fails to train (Linux
    drivers/pci/quirks.c, pcie_failed_link_retrain), and that is no set-up of the host's.
    """
    space = card.configuration_space_at("port")
    if isinstance(space, NotMeasured):
        return space
    registers = space.link()
    return registers if isinstance(registers, NotMeasured) else registers.target_speed_gts


def surroundings(
    context: StageContext[Needs], held_gts: float | NotMeasured
) -> Surroundings:
    """With the way to the processor as it is now: bridges, too, may be slow while idle."""
    return Surroundings(held_gts, context.card.position(), context.bench_shown)


def position_note(position: CardPosition | NotMeasured) -> Note | None:
    """What lies on the way to the processor; None where nothing does, or nobody can tell."""
    if isinstance(position, NotMeasured):
        return None
    if not (position.bridges or position.beside or position.behind_bridge):
        return None
    return LinkNote.POSITION(
        port=position.port.address,
        bridges=tuple(_bridge(port) for port in position.bridges),
        beside=position.beside,
        behind_bridge=position.behind_bridge,
    )


def _bridge(port: PortOnTheWay) -> Note:
    return LinkNote.BRIDGE(
        port=port.address,
        width_lanes=known(port.width_lanes),
        speed_gts=known(port.speed_gts),
    )
