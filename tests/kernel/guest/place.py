"""The card of the emulated bench: where it is, and the tool's own reader of it."""

from __future__ import annotations

from pathlib import Path

from burnin.card.capabilities import Card
from burnin.card.files import HostFiles
from burnin.card.merge import open_bench
from tests.kernel.guest.saying import module, tell_kernel, until

DEVICES = Path("/sys/bus/pci/devices")
CARD = "0000:01:00.0"
DRIVER = "virtio-pci"


def port() -> str:
    """The root port above the card, by the kernel's own folders."""
    return (DEVICES / CARD).resolve().parent.name


def card() -> Card:
    """The card as the tool reads it on any bench."""
    (found,) = open_bench(HostFiles(), this_machine=True).cards()
    return found


def carry_out() -> None:
    """Load what makes it a bench: the card's driver, the injector of errors, a chip on a bus."""
    for name in ("virtio_gpu", "aer_inject", "i2c-dev", "lm75", "virtio_blk", "ext4"):
        assert module(name), name
    assert module("i2c-stub", "chip_addr=0x48,0x4c")


def unbound() -> None:
    """The driver lets go of the card."""
    tell_kernel(f"/sys/bus/pci/drivers/{DRIVER}/unbind", CARD)


def bound() -> None:
    """The driver takes the card."""
    tell_kernel(f"/sys/bus/pci/drivers/{DRIVER}/bind", CARD)
    settled()


def bound_anew() -> None:
    """The driver lets go of the card and takes it again."""
    unbound()
    bound()


def settled() -> None:
    """Wait until the card is there and its driver shows its output again."""
    until(lambda: any(path.name.count("-") > 1 for path in Path("/sys/class/drm").iterdir()), 10.0)
