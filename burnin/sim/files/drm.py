"""The DRM folder of one output, as drivers/gpu/drm/drm_sysfs.c lays it out."""

from __future__ import annotations

from collections.abc import Callable

from burnin.sim.files.answers import Answer, Node, SymbolicLink, gone, hung
from burnin.sim.physics.machine import Machine
from burnin.sim.physics.outputs import OutputState, SimulatedOutput


def connector_files(
    machine: Machine, output: SimulatedOutput, card_folder: str
) -> dict[str, Node]:
    """Files of one DRM connector; they hold the driver's last state, gone with the card.

    An output whose link does not train is seen, but not lit: not enabled, its screen off.
    """

    def living(value: Callable[[OutputState], bytes]) -> Answer:
        def answer() -> bytes:
            if not machine.card_answers:
                raise gone(output.name)
            if machine.driver_hangs:
                raise hung(output.name)
            return value(output.at(machine.uptime_s, machine.moved))

        return answer

    def lit(state: OutputState) -> bool:
        return state.connected and state.lanes > 0

    return {
        "status": living(lambda s: b"connected\n" if s.connected else b"disconnected\n"),
        "enabled": living(lambda s: b"enabled\n" if lit(s) else b"disabled\n"),
        "dpms": living(lambda s: b"On\n" if lit(s) else b"Off\n"),
        "edid": living(lambda s: s.edid),
        "modes": living(lambda s: "".join(f"{mode}\n" for mode in s.modes).encode()),
        "device": SymbolicLink(card_folder),
    }
