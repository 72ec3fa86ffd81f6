"""What the kernel of the simulated bench writes into its log, in the words of Linux.

Words as in drivers/pci/pcie/aer.c and dpc.c, drivers/pci/hotplug/pciehp_ctrl.c and
drivers/gpu/drm; the driver's own name is invented, its numbers are any.
"""

from __future__ import annotations

from dataclasses import dataclass

DRIVER = "corvane"
CARD, PORT = "0000:01:00.0", "0000:00:01.0"
_ERROR, _WARNING, _INFO = 3, 4, 6


@dataclass(frozen=True)
class SaidLine:
    """One record: level, microseconds since power-on, text, and the device it is tagged with."""

    level: int
    time_us: int
    text: str
    device: str


class KernelSays:
    """The bench's log, oldest record first; a record's place is its sequence number.

    `card` and `port`: the addresses that it names.
    """

    def __init__(self) -> None:
        self.lines: list[SaidLine] = []
        self.card, self.port = CARD, PORT

    def link_lost(self, uptime_s: float) -> None:
        """The port saw its link go down by surprise, and stays without a card."""
        self._of_port(
            uptime_s,
            (_WARNING, f"AER: Uncorrectable (Fatal) error message received from {self.port}"),
            (_ERROR, "PCIe Bus Error: severity=Uncorrectable (Fatal), type=Transaction Layer,"
                     " (Receiver ID)"),
            (_ERROR, "  device [f5a8:0001] error status/mask=00000020/00400000"),
            (_ERROR, "   [ 5] SDES                   (First)"),
            (_INFO, "pciehp: Slot(1): Link Down"),
        )  # fmt: skip

    def link_bounced(self, uptime_s: float) -> None:
        """The port contained an error, its link went down and came back with the card."""
        self._of_port(
            uptime_s,
            (_WARNING, "DPC: containment event, status:0x1f01 source:0x0000"),
            (_ERROR, "DPC: unmasked uncorrectable error detected"),
            (_INFO, "pciehp: Slot(1): Link Down/Up ignored"),
            (_INFO, "AER: device recovery successful"),
        )

    def driver_hung(self, uptime_s: float) -> None:
        """Work of the card did not come back in time."""
        self._of_driver(uptime_s, (_ERROR, _TIMEOUT))

    def driver_reset(self, uptime_s: float) -> None:
        """The same, and the driver reset the card with success."""
        self._of_driver(
            uptime_s,
            (_ERROR, _TIMEOUT),
            (_INFO, "GPU reset begin!"),
            (_INFO, "GPU reset(1) succeeded!"),
            (_INFO, "[drm] device wedged, but recovered through reset"),
        )

    def gpu_faulted(self, uptime_s: float) -> None:
        """The card's own memory management caught an access to a page that is none."""
        self._of_driver(
            uptime_s,
            (_ERROR, "[gfxhub] page fault (src_id:0 ring:24 vmid:3 pasid:32771)"),
            (_ERROR, "  in page starting at address 0x0000800105c00000 from client 0x1b (UTCL2)"),
        )

    def _of_port(self, uptime_s: float, *lines: tuple[int, str]) -> None:
        self._say(uptime_s, f"pcieport {self.port}: ", f"+pci:{self.port}", lines)

    def _of_driver(self, uptime_s: float, *lines: tuple[int, str]) -> None:
        self._say(uptime_s, f"{DRIVER} {self.card}: ", f"+pci:{self.card}", lines)

    def _say(
        self, uptime_s: float, head: str, device: str, lines: tuple[tuple[int, str], ...]
    ) -> None:
        for after_us, (level, words) in enumerate(lines):
            time_us = round(uptime_s * 1e6) + 40 * after_us
            self.lines.append(SaidLine(level, time_us, f"{head}{words}", device))


_TIMEOUT = "[drm] *ERROR* ring gfx_0.0.0 timeout, signaled seq=7073226, emitted seq=7073228"
