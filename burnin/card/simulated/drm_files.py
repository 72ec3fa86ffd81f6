"""The DRM folder of one output, as drivers/gpu/drm/drm_sysfs.c lays it out."""

from __future__ import annotations

from burnin.card.simulated.answers import Answer, Node, SymbolicLink, gone
from burnin.card.simulated.machine import Machine
from burnin.card.simulated.outputs import SimulatedOutput


def connector_files(
    machine: Machine, output: SimulatedOutput, card_folder: str
) -> dict[str, Node]:
    """Files of one DRM connector; they hold the driver's last state, gone with the card."""

    def living(value: bytes) -> Answer:
        def answer() -> bytes:
            if not machine.card_answers:
                raise gone(output.name)
            return value

        return answer

    lit = output.connected
    return {
        "status": living(b"connected\n" if lit else b"disconnected\n"),
        "enabled": living(b"enabled\n" if lit else b"disabled\n"),
        "dpms": living(b"On\n" if lit else b"Off\n"),
        "edid": living(output.edid),
        "modes": living("".join(f"{mode}\n" for mode in output.modes).encode()),
        "device": SymbolicLink(card_folder),
    }
