"""Seats of a simulated bench with several cards: under which addresses each card's files lie.

A machine lays its files out as those of the only card. In another seat the same files lie under
another bus, another number of the sensor chip and of the screen device, as Linux numbers them.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

from burnin.sim.files.answers import Answer, Node, SymbolicLink
from burnin.sim.files.bridge import ROOT, SIBLING, SIBLING_PORT, UPSTREAM
from burnin.sim.files.config_bytes import SLOT_CAPABILITIES as _SLOT
from burnin.sim.files.slots import FIRMWARE, SLOTS, slot_files
from burnin.sim.physics.kernel_says import CARD, PORT

_NUMBER_BIT = 19
"""Physical Slot Number is bits 31:19 of Slot Capabilities."""
_FIRST_BRIDGE_BUS, _FIRST_BESIDE_BUS, _BRIDGE_DEVICE = 0x60, 0x80, 0x1E


@dataclass(frozen=True)
class Seat:
    """A slot by its number from 0, and the bridge that it lies behind, where one is named.

    Seats with the same `bridge` share the bridge's link to the processor.
    """

    number: int
    bridge: int = 0

    @property
    def card(self) -> str:
        """The card's bus address."""
        return f"0000:{self.number + 1:02x}:00.0"

    @property
    def port(self) -> str:
        """The address of the port above the card."""
        return f"0000:00:{self.number + 1:02x}.0"

    def moved(self, text: str) -> str:
        """A path, or a line, of the only card as it reads in this seat."""
        return _MOVES.sub(lambda found: self._names()[found.group(0)], text)

    def _names(self) -> Mapping[str, str]:
        return {
            CARD: self.card,
            PORT: self.port,
            ROOT: f"0000:00:{_BRIDGE_DEVICE:02x}.{self.bridge}",
            UPSTREAM: f"0000:{_FIRST_BRIDGE_BUS + self.bridge:02x}:00.0",
            SIBLING_PORT: f"0000:00:{self.number + 1:02x}.1",
            SIBLING: f"0000:{_FIRST_BESIDE_BUS + self.number:02x}:00.0",
            "hwmon0": f"hwmon{self.number}",
            "card0": f"card{self.number}",
        }

    def files(self, found: Mapping[str, Node]) -> dict[str, Node]:
        """A machine's files and links, by their paths in this seat."""
        moved = {
            self.moved(path): self._node(path, node)
            for path, node in found.items()
            if not path.startswith((SLOTS, FIRMWARE))
        }
        return moved | slot_files(self.number + 1, self.card)

    def _node(self, path: str, node: Node) -> Node:
        if isinstance(node, SymbolicLink):
            return replace(node, target=self.moved(node.target))
        return self._numbered(node) if path.endswith(f"/{PORT}/config") else node

    def _numbered(self, space: Answer) -> Answer:
        """The port's configuration space with this slot's own number in Slot Capabilities."""

        def answer() -> bytes:
            raw = bytearray(space())
            told = int.from_bytes(raw[_SLOT:_SLOT + 4], "little") & (1 << _NUMBER_BIT) - 1
            raw[_SLOT:_SLOT + 4] = (told | self.number + 1 << _NUMBER_BIT).to_bytes(4, "little")
            return bytes(raw)

        return answer


_MOVES = re.compile("|".join(map(re.escape, Seat(0)._names())))
