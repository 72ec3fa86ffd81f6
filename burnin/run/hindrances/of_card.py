"""What hides something of one card: its link's error reporting, windows, driver, sleep, outputs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from burnin.card.attributes import Attributes
from burnin.card.capabilities import Card
from burnin.card.files import BenchFiles
from burnin.card.sources.pci_devices import DEVICES
from burnin.core.reading import NotMeasured, known
from burnin.run.hindrances.found import Hindrance
from burnin.run.hindrances.meanings import Costs, Hides, Mend

GUEST_DRIVERS = ("vfio-pci", "pci-stub", "xen-pciback")
"""Drivers that keep a card for a guest and do nothing with it (Linux drivers/vfio, drivers/pci)."""
_MEMORY, _WIDE, _UNSET = 0x200, 0x100000, 0x20000000
"""IORESOURCE_MEM, IORESOURCE_MEM_64, IORESOURCE_UNSET of Linux include/linux/ioport.h."""
_FOUR_GIB, _LARGE = 1 << 32, 64 << 20
_NO_SAVING = "off"
"""What `burnin.card.pci` calls a link that rests in no state."""


def hindrances_of_card(files: BenchFiles, card: Card) -> Iterator[Hindrance]:
    """All of it, with the card's address."""
    identity = card.identity()
    found = (
        *_errors(card),
        *_power_saving(card),
        *_windows(files, identity.address),
        *_driver(identity.driver),
        *_sleep(files, identity.address),
        *_outputs(card),
    )
    for one in found:
        yield replace(one, address=identity.address)


def _errors(card: Card) -> Iterator[Hindrance]:
    """An end that has the registers and whose errors nobody counts."""
    counters = known(card.error_counters()) or ()
    for end in ("card", "port"):
        space = known(card.configuration_space_at(end))
        if space is None or isinstance(space.errors(), NotMeasured):
            continue
        if not any(counter.end == end for counter in counters):
            what = Hides.ERRORS_KEPT_BACK(end=end)
            yield Hindrance(what, Costs.ERRORS(), Mend.NATIVE_ERRORS())


def _power_saving(card: Card) -> Iterator[Hindrance]:
    for end in ("card", "port"):
        space = known(card.configuration_space_at(end))
        link = None if space is None else known(space.link())
        if link is not None and link.aspm != _NO_SAVING:
            what = Hides.ASPM_ON(end=end, states=link.aspm)
            yield Hindrance(what, Costs.SLEEPING_LINK(), Mend.ASPM())


def _windows(files: BenchFiles, address: str) -> Iterator[Hindrance]:
    """Lines of ``resource``: start, end, flags (Linux drivers/pci/pci-sysfs.c)."""
    text = known(Attributes(files, f"{DEVICES}/{address}").text("resource")) or ""
    for number, line in enumerate(text.splitlines()[:6]):
        try:
            start, end, flags = (int(part, 16) for part in line.split())
        except ValueError:
            continue
        size = end - start + 1
        if not flags & _MEMORY or end <= start:
            continue
        if flags & _UNSET or not start:
            what = Hides.WINDOW_UNPLACED(window_number=number)
            yield Hindrance(what, Costs.UNREACHED(), Mend.ABOVE_4G())
        elif flags & _WIDE and size >= _LARGE and end < _FOUR_GIB:
            what = Hides.WINDOWS_LOW(window_mib=size / (1 << 20))
            yield Hindrance(what, Costs.MEMORY_WINDOW(), Mend.ABOVE_4G())


def _driver(driver: str | NotMeasured) -> Iterator[Hindrance]:
    if isinstance(driver, NotMeasured):
        yield Hindrance(Hides.NO_DRIVER(), Costs.DRIVER(), Mend.DRIVER())
    elif driver in GUEST_DRIVERS:
        mend = Mend.GUEST_DRIVER(driver=driver)
        yield Hindrance(Hides.GUEST_DRIVER(driver=driver), Costs.DRIVER(), mend)


def _sleep(files: BenchFiles, address: str) -> Iterator[Hindrance]:
    power = Attributes(files, f"{DEVICES}/{address}/power")
    if known(power.text("runtime_status")) == "suspended":
        mend = Mend.KEEP_AWAKE(address=address)
        yield Hindrance(Hides.ASLEEP(), Costs.FIRST_VALUES(), mend)


def _outputs(card: Card) -> Iterator[Hindrance]:
    for output in known(card.outputs()) or ():
        mend = Mend.OUTPUT(output=output.name)
        if output.forced:
            what = Hides.OUTPUT_FORCED(output=output.name, state=output.forced)
            yield Hindrance(what, Costs.OUTPUTS(), mend)
        if output.edid_set:
            yield Hindrance(Hides.EDID_SET(output=output.name), Costs.OUTPUTS(), mend)
