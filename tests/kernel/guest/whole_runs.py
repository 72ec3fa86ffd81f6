"""Whole runs while the kernel does something to the card: nothing, an error, gone, unbound."""

from __future__ import annotations

import os
import signal

from burnin.core.reading import NotMeasured
from burnin.stages.counters import difference
from tests.kernel.guest.errors_injected import inject, kernel_counts
from tests.kernel.guest.place import CARD, DEVICES, bound, card, settled, unbound
from tests.kernel.guest.run_there import run
from tests.kernel.guest.saying import say, tell_kernel, until

RESCAN = "/sys/bus/pci/rescan"


def remove() -> None:
    """The card is gone, as after a hot unplug."""
    tell_kernel(DEVICES / CARD / "remove", "1")


def rescan() -> None:
    """The kernel looks for cards anew."""
    tell_kernel(RESCAN, "1")


def _out_and_back() -> None:
    remove()
    rescan()


def _between_two_looks() -> None:
    """Out and back while the whole run stands still, however slow the bench: no sample sees it."""
    run_itself = os.getpid()
    child = os.fork()
    if not child:
        os.kill(run_itself, signal.SIGSTOP)
        _out_and_back()
        settled()
        os.kill(run_itself, signal.SIGCONT)
        os._exit(0)
    os.waitpid(child, 0)


def carry_out() -> None:
    """One run after the other; after each the card is as it was."""
    run("nothing_happens")
    run("no_sensor_no_engine", profile="whole", engine=True)
    run("errors_beside_traffic", stage="display", act=lambda: inject(CARD, uncorrectable=1 << 12))
    _counters_anew()
    run("taken_out", stage="display", act=remove)
    rescan()
    settled()
    run("out_and_back", stage="display", act=_between_two_looks)
    settled()
    run("driver_unbound", stage="display", act=unbound)
    bound()


def _counters_anew() -> None:
    """What the card counted is gone with it: the kernel begins at nought when it comes back."""
    inject(CARD, correctable=0x40)
    name = "aer_dev_correctable BadTLP"
    until(lambda: kernel_counts(CARD)[name] > 0)
    kernel_before, before = kernel_counts(CARD)[name], card().error_counters()
    _out_and_back()
    settled()
    kernel_after, after = kernel_counts(CARD)[name], card().error_counters()
    assert not isinstance(before, NotMeasured)
    assert not isinstance(after, NotMeasured)
    change = difference(before, after)
    say(
        "counters_anew",
        kernel_before=kernel_before,
        kernel_after=kernel_after,
        rises=[name for name, rise in change.errors.items() if rise],
        restarted=[r.code for r in change.unusable if r.code == "counter_restarted"],
    )
