"""The display outputs: each acts on its own contacts and monitor alone."""

from __future__ import annotations

from dataclasses import dataclass

from burnin.card.simulated.causes import OutputCause
from burnin.card.simulated.monitor import MODES, edid_of
from burnin.card.simulated.scenario import Scenario


@dataclass(frozen=True)
class SimulatedOutput:
    """What the driver finds at one output: hot-plug detect, EDID bytes (empty: none read)."""

    name: str
    connected: bool
    edid: bytes
    modes: tuple[str, ...]


def outputs(scenario: Scenario) -> tuple[SimulatedOutput, ...]:
    """Every output of the card.

    Without hot-plug detect nobody asks for an EDID; without the data channel the monitor is seen
    but stays nameless, and the driver offers the modes that need no EDID.
    """
    found = []
    for build in scenario.card.outputs:
        causes = [c for c in scenario.causes
                  if isinstance(c, OutputCause) and c.output == build.name]
        opened = {cause.contact for cause in causes}
        connected = bool(build.monitor) and "hot_plug_detect" not in opened
        edid = b""
        if connected and "ddc" not in opened:
            block = bytearray(edid_of(build.monitor, build.name, build.extended_edid))
            for cause in causes:
                for offset in cause.flip_edid_bytes:
                    if offset < len(block):
                        block[offset] ^= 0xFF
            edid = bytes(block)
        modes = (MODES if edid else ("1024x768", "800x600", "640x480")) if connected else ()
        found.append(SimulatedOutput(build.name, connected, edid, modes))
    return tuple(found)
