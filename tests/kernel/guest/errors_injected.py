"""Each kind of error injected at each end; what the kernel and the tool count and say of it."""

from __future__ import annotations

import struct
import time
from collections.abc import Mapping
from pathlib import Path

from burnin.card.capabilities import Card, Counter
from burnin.card.files import HostFiles
from burnin.card.kernel_log.log import open_kernel_log
from burnin.card.kernel_log.whose import Place
from burnin.core.clock import WallClock
from burnin.core.events import Event, KernelLogged
from burnin.core.reading import NotMeasured
from burnin.run.kernel_watch import KernelWatch
from burnin.stages.counters import (
    difference,
    errors_by_direction,
    uncorrected,
    unmended_count,
)
from tests.kernel.guest.place import CARD, DEVICES, DRIVER, card, port
from tests.kernel.guest.saying import outside, say, until

CORRECTABLE = (0x1, 0x40, 0x80, 0x100, 0x1000, 0x2000, 0x4000, 0x8000)
NON_FATAL = (*(1 << bit for bit in (12, 14, 15, 16, 20, 21)),)
"""Bits of the AER status registers (PCI Express Base 5.0, 7.8.4.2 and 7.8.4.5; non-fatal: those
whose severity is so after a reset)."""
_FILES = ("aer_dev_correctable", "aer_dev_nonfatal", "aer_dev_fatal")
Raw = dict[str, int]
Counters = tuple[Counter, ...] | NotMeasured


def carry_out() -> None:
    """Every kind at both ends, one by one."""
    there = card()
    _unmask()
    for end, address in (("card", CARD), ("port", port())):
        for status in CORRECTABLE:
            _one(there, end, address, correctable=status)
        kernel_before, before = kernel_counts(address), there.error_counters()
        for status in NON_FATAL:
            _one(there, end, address, uncorrectable=status)
        _in_all(end, kernel_before, kernel_counts(address), before, there.error_counters())


def _in_all(
    end: str, kernel_before: Raw, kernel_after: Raw, before: Counters, after: Counters
) -> None:
    assert not isinstance(before, NotMeasured)
    assert not isinstance(after, NotMeasured)
    errors = difference(before, after).errors
    name = "aer_dev_nonfatal TOTAL_ERR_NONFATAL"
    say(
        "injected_in_all",
        end=end,
        kernel_messages=kernel_after[name] - kernel_before[name],
        unmended=unmended_count(errors),
        summed=sum(uncorrected(errors).values()),
    )


def inject(address: str, *, correctable: int = 0, uncorrectable: int = 0) -> None:
    """One error at a device (Linux drivers/pci/pcie/aer_inject.c, struct aer_error_inj)."""
    domain, bus, rest = address.split(":")
    device, function = rest.split(".")
    where = struct.pack("BBBx", int(bus, 16), int(device, 16), int(function))
    words = struct.pack("=7I", uncorrectable, correctable, 0, 0, 0, 0, int(domain, 16))
    Path("/dev/aer_inject").write_bytes(where + words)


def _unmask() -> None:
    for address in (CARD, port()):
        outside("setpci", "-s", address, "ECAP_AER+0x14.l=0", "ECAP_AER+0x08.l=0")


def kernel_counts(address: str) -> Raw:
    """What the kernel's files hold, line by line as they are."""
    found: Raw = {}
    for name in _FILES:
        for line in (DEVICES / address / name).read_text().splitlines():
            words, _, number = line.rpartition(" ")
            found[f"{name} {words}"] = int(number)
    return found


def _one(
    there: Card, end: str, address: str, *, correctable: int = 0, uncorrectable: int = 0
) -> None:
    said: list[Event] = []
    log = open_kernel_log(HostFiles(), this_machine=True)
    watch = KernelWatch(log, Place(CARD, port(), DRIVER, True), WallClock(), said.append)
    kernel_before = {e: kernel_counts(a) for e, a in (("card", CARD), ("port", port()))}
    before = there.error_counters()
    inject(address, correctable=correctable, uncorrectable=uncorrectable)
    until(lambda: kernel_counts(address) != kernel_before[end], 2.0)
    time.sleep(0.05)
    after = there.error_counters()
    kernel_after = {e: kernel_counts(a) for e, a in (("card", CARD), ("port", port()))}
    assert not isinstance(before, NotMeasured)
    assert not isinstance(after, NotMeasured)
    change = difference(before, after)
    ways = errors_by_direction(change.errors, change.broken)
    watch.look()
    watch.close()
    say(
        "injected",
        end=end,
        correctable=correctable,
        uncorrectable=uncorrectable,
        kernel={e: _rises(kernel_before[e], kernel_after[e]) for e in kernel_after},
        unmended=unmended_count(change.errors),
        tool={name: rise for name, rise in change.errors.items() if rise},
        unusable=[reason.code for reason in change.unusable],
        ways={
            way: None if isinstance(told, NotMeasured) else [told.at_least, told.at_most]
            for way, told in ways.items()
        },
        log=[_logged(event) for event in said if isinstance(event, KernelLogged)],
    )


def _rises(before: Mapping[str, int], after: Mapping[str, int]) -> Raw:
    return {k: after[k] - before.get(k, 0) for k in after if after[k] != before.get(k, 0)}


def _logged(event: KernelLogged) -> dict[str, object]:
    return {
        "whose": event.whose,
        "counts": event.counts,
        "code": event.reason.code,
        "line": dict(event.reason.data).get("line"),
    }
