"""The display outputs: each acts on its own contacts and monitor alone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from burnin.sim.causes.kinds import OutputCause
from burnin.sim.physics.contacts import UNTOUCHED
from burnin.sim.physics.hands import OPENS_AT
from burnin.sim.physics.monitor import MODES, edid_of
from burnin.sim.scenario.model import Scenario

_MODES_WITHOUT_EDID = ("1024x768", "800x600", "640x480")
_LANES = 4
_LANE_GBIT_S = 8.1 * 0.8
"""One lane of HBR3 with 8b/10b (VESA DisplayPort 1.4, second hand)."""
_BITS_PER_PIXEL = 24
_PIXEL_CLOCK_HZ = {
    "2560x1440": 241.5e6, "1920x1080": 148.5e6, "1280x720": 74.25e6, "1024x768": 65e6,
    "800x600": 40e6, "640x480": 25.175e6,
}
"""Pixel clocks at 60 Hz (VESA DMT, CEA-861, CVT reduced blanking for 2560x1440)."""


@dataclass(frozen=True)
class OutputState:
    """What the driver finds at one output at a moment; `edid` is empty where none was read.

    `lanes`: picture lanes that the output's link trained, 0 where training fails.
    """

    connected: bool
    edid: bytes
    modes: tuple[str, ...]
    lanes: int


class SimulatedOutput:
    """One output with its monitor; contacts may bounce, so that its state depends on time."""

    def __init__(
        self, name: str, monitor: str, edid: bytes, causes: tuple[OutputCause, ...]
    ) -> None:
        self.name = name
        self._monitor = monitor
        self._edid = edid
        self._causes = causes

    def at(self, uptime_s: float, moved: Mapping[str, float] = UNTOUCHED) -> OutputState:
        """What the driver finds at that time since power-on; `moved`: how far each place is.

        Without hot-plug detect nobody asks for an EDID; without the data channel the monitor is
        seen but stays nameless, the driver offers the modes that need no EDID, and DisplayPort,
        which trains through that channel, lights no lane.
        """
        bent = moved.get(f"cable {self.name}", 0.0)
        opened = {
            str(c.contact)
            for c in self._causes
            if c.contact and c.on_at(uptime_s) and (not c.moved or bent >= OPENS_AT)
        }
        if not self._monitor or "hot_plug_detect" in opened:
            return OutputState(False, b"", (), 0)
        port = self.name.startswith("DP-")
        lanes = _trained(opened, port)
        if "ddc" in opened:
            return OutputState(True, b"", _MODES_WITHOUT_EDID, 0 if port else lanes)
        edid = bytearray(self._edid)
        for cause in self._causes:
            for offset in cause.flip_edid_bytes:
                if offset < len(edid):
                    edid[offset] ^= 0xFF
        fitting = tuple(mode for mode in MODES if not port or _fits(mode, lanes))
        return OutputState(True, bytes(edid), fitting or _MODES_WITHOUT_EDID, lanes)

    @property
    def connected(self) -> bool:
        """Whether a monitor is felt right after power-on."""
        return self.at(0.0).connected

    @property
    def edid(self) -> bytes:
        """EDID as read right after power-on."""
        return self.at(0.0).edid

    @property
    def modes(self) -> tuple[str, ...]:
        """Modes as offered right after power-on."""
        return self.at(0.0).modes


def _trained(opened: set[str], port: bool) -> int:
    """Lanes that train: 4, 2 or 1 from lane 0 on (VESA DisplayPort 1.4, second hand)."""
    if not port:
        return _LANES
    sound = next((n for n in range(_LANES) if f"main_lane_{n}" in opened), _LANES)
    return next((width for width in (4, 2, 1) if width <= sound), 0)


def _fits(mode: str, lanes: int) -> bool:
    """Whether the lanes carry a mode's pixels at 60 Hz."""
    return _PIXEL_CLOCK_HZ[mode] * _BITS_PER_PIXEL <= lanes * _LANE_GBIT_S * 1e9


def outputs(scenario: Scenario) -> tuple[SimulatedOutput, ...]:
    """Every output of the card."""
    found = []
    for build in scenario.card.outputs:
        causes = tuple(
            c for c in scenario.causes if isinstance(c, OutputCause) and c.output == build.name
        )
        edid = edid_of(build.monitor, build.name, build.extended_edid) if build.monitor else b""
        found.append(SimulatedOutput(build.name, build.monitor, edid, causes))
    return tuple(found)
