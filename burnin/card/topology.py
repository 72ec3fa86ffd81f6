"""Where in the machine a card sits: the port above it, what lies between that and the root.

What a link trains to is between its two ends; what it can move is bounded by every link on the way
as well. Which ports there are: the folders of sysfs above the card's own (Linux
Documentation/PCI/sysfs-pci.rst); what kind each is: its PCI Express capability.
"""

from __future__ import annotations

from dataclasses import dataclass

from burnin.card.rates import generation_of_speed, payload_limit_gbs
from burnin.core.reading import NotMeasured, known

ROOT_PORT, UPSTREAM_PORT, DOWNSTREAM_PORT = "root port", "upstream port", "downstream port"
"""Kinds of ports, as `burnin.card.pci.registers.PORT_TYPES` has them."""


@dataclass(frozen=True)
class PortOnTheWay:
    """One PCI Express port between card and processor, and its link as it stands now.

    `kind` needs more of configuration space than an unprivileged account may read.
    """

    address: str
    kind: str | NotMeasured
    name: str | NotMeasured
    width_lanes: int | NotMeasured
    speed_gts: float | NotMeasured
    max_width_lanes: int | NotMeasured
    max_speed_gts: float | NotMeasured

    def payload_gbs(self, payload_bytes: int) -> float | None:
        """What its link carries now of one direction, GB/s; None where it does not tell."""
        speed, width = known(self.speed_gts), known(self.width_lanes)
        generation = None if speed is None else known(generation_of_speed(speed))
        if generation is None or width is None:
            return None
        return payload_limit_gbs(generation, width, payload_bytes)


    def most_gbs(self, payload_bytes: int) -> float | None:
        """The same at its highest speed: a bridge lowers its speed when idle, its width never."""
        speed, width = known(self.max_speed_gts), known(self.width_lanes)
        generation = None if speed is None else known(generation_of_speed(speed))
        if generation is None or width is None:
            return None
        return payload_limit_gbs(generation, width, payload_bytes)


@dataclass(frozen=True)
class CardPosition:
    """The way from a card to the processor, its own port first, the root port last.

    `slot_number` and `slot_power_w` are what the port says of its slot. `beside`: other functions
    of the port's own device that have a device behind them; ports of one device often divide one
    set of lanes (practice, no source: nothing in a register tells). `behind_bridge`: addresses of
    devices that share the link of a bridge on the way. `slot_name`: what is printed beside the
    slot, or how the kernel calls it.
    """

    ports: tuple[PortOnTheWay, ...]
    slot_number: int | NotMeasured
    slot_power_w: float | NotMeasured
    slot_name: str | NotMeasured
    beside: tuple[str, ...] = ()
    behind_bridge: tuple[str, ...] = ()

    @property
    def port(self) -> PortOnTheWay:
        """The port above the card."""
        return self.ports[0]

    @property
    def bridges(self) -> tuple[PortOnTheWay, ...]:
        """Ports that face the processor, of bridges or chipsets on the way."""
        return self.ports[1:-1:2]

    def narrowest_gbs(self, payload_bytes: int) -> tuple[float, PortOnTheWay] | None:
        """What the narrowest link above the card's own carries, and at which port; None: none."""
        return _least([(port.payload_gbs(payload_bytes), port) for port in self.bridges])

    def most_on_the_way_gbs(self, payload_bytes: int) -> tuple[float, PortOnTheWay] | None:
        """What the links above the card's own let through at most, and at which port; None: all."""
        return _least([(port.most_gbs(payload_bytes), port) for port in self.bridges])


def _least(
    told: list[tuple[float | None, PortOnTheWay]],
) -> tuple[float, PortOnTheWay] | None:
    rates = [(rate, port) for rate, port in told if rate is not None]
    return min(rates, key=lambda pair: pair[0], default=None)
