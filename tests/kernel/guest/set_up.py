"""What the tool finds that hides something, beside what the kernel was told and shows."""

from __future__ import annotations

import contextlib
import time
from pathlib import Path

from burnin.card.files import HostFiles
from burnin.core.plain import plain
from burnin.core.reading import NotMeasured
from burnin.run.hindrances.check import hindrances
from tests.kernel.guest.errors_injected import inject, kernel_counts
from tests.kernel.guest.place import CARD, DEVICES, card, port
from tests.kernel.guest.saying import outside, say, text

AER = Path("/sys/bus/pci_express/drivers/aer")


def carry_out() -> None:
    """Of bench and card; rights are tried elsewhere."""
    before = kernel_counts(CARD)
    with contextlib.suppress(OSError):  # where nobody takes errors none can be injected
        inject(CARD, correctable=0x40)
    time.sleep(0.5)
    counters = card().error_counters()
    say(
        "set_up",
        moved=kernel_counts(CARD) != before,
        counters=plain(counters) if isinstance(counters, NotMeasured) else "counted",
        port=port(),
        services=[p.name for p in AER.iterdir() if ":pcie" in p.name] if AER.exists() else [],
        found=[plain(one) for one in hindrances(HostFiles(), [card()], ())],
        command_line=text("/proc/cmdline"),
        aer_files=sorted(p.name for p in (DEVICES / CARD).glob("aer_dev*")),
        has_aer="Advanced Error Reporting" in outside("lspci", "-vv", "-s", CARD),
        force=text("/sys/kernel/debug/dri/0/Virtual-1/force"),
    )
