"""What the tool finds that hides something, beside what the kernel was told and shows."""

from __future__ import annotations

from burnin.card.files import HostFiles
from burnin.core.plain import plain
from burnin.run.hindrances.check import hindrances
from tests.kernel.guest.place import CARD, DEVICES, card
from tests.kernel.guest.saying import outside, say, text


def carry_out() -> None:
    """Of bench and card; rights are tried elsewhere."""
    say(
        "set_up",
        found=[plain(one) for one in hindrances(HostFiles(), [card()], ())],
        command_line=text("/proc/cmdline"),
        aer_files=sorted(p.name for p in (DEVICES / CARD).glob("aer_dev*")),
        has_aer="Advanced Error Reporting" in outside("lspci", "-vv", "-s", CARD),
        force=text("/sys/kernel/debug/dri/0/Virtual-1/force"),
    )
