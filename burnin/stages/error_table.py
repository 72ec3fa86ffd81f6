"""Which counters tell of one event on the link, at which end, and how specifically.

One damaged packet is told many times: its receiver may count a receiver error, finds the LCRC wrong
(bad TLP), refuses it (NAK sent); its sender counts the refusal (NAK received) and that it sent the
packet again (replay, after four in vain a roll-over). Counted once it is at the most specific of
those; all are shown. An error counts at the end that sees it, so a counter of the receiver speaks
of the way to it, one of the sender of the way away from it.

Sources: PCI Express base specification, classes of errors of physical, data link and transaction
layer (table of error messages in 6.2, from memory; bits of the AER registers as in Linux'
``pci_regs.h``); kernel, ``drivers/pci/pcie/aer.c`` and
``Documentation/ABI/testing/sysfs-bus-pci-devices-aer`` (an error counts at the device that sees it;
a root port's totals are sums of messages); NVML, field ids of ``pynvml.py`` (nvidia-ml-py
13.615.71), whose meanings it does not say beyond their names.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Told(StrEnum):
    """What a counter tells of."""

    PACKET = "packet"
    """a packet arrived damaged"""
    LINK_MESSAGE = "link_message"
    """a message of the link layer itself (DLLP) arrived damaged"""
    SYMBOL = "symbol"
    """something on the wire was no valid symbol, in a packet or between"""
    ANSWER = "answer"
    """no answer to a packet came in time"""
    LANE = "lane"
    SUM = "sum"
    """a sum of what other counters count"""
    UNCORRECTED = "uncorrected"
    """an error that sending again does not mend"""
    ELSE = "else"
    """an error that speaks of no bit on the wire"""


class Side(StrEnum):
    """Which end of a way counts."""

    RECEIVER = "receiver"
    SENDER = "sender"


@dataclass(frozen=True)
class CounterKind:
    """One kind of counter, by a part of its name in small letters.

    `rank`: 0 is the most specific for its event. `sees_all`: no such event escapes it, so that
    its zero is a zero.
    """

    name: str
    told: Told
    side: Side = Side.RECEIVER
    rank: int = 0
    sees_all: bool = False


KINDS: tuple[CounterKind, ...] = (
    CounterKind("advisory non-fatal", Told.ELSE),  # AER correctable 0x2000
    CounterKind("corrected internal", Told.ELSE),  # AER correctable 0x4000
    CounterKind("header log overflow", Told.ELSE),  # AER correctable 0x8000
    CounterKind("(non-fatal)", Told.UNCORRECTED),  # kernel, aer_dev_nonfatal
    CounterKind("(fatal)", Told.UNCORRECTED),  # kernel, aer_dev_fatal
    CounterKind("non-fatal error", Told.UNCORRECTED),  # NVML 179
    CounterKind("fatal error", Told.UNCORRECTED),  # NVML 180
    CounterKind("unsupported request", Told.ELSE),  # NVML 181
    CounterKind("correctable errors", Told.SUM),  # NVML 173
    CounterKind("total_err", Told.SUM),  # kernel, last line of aer_dev_*
    CounterKind("rootport_total", Told.SUM),  # kernel, aer_rootport_total_err_*
    CounterKind("bad tlp", Told.PACKET, rank=0, sees_all=True),  # AER 0x40, NVML 176
    CounterKind("lcrc error", Told.PACKET, rank=1, sees_all=True),  # NVML 182
    CounterKind("naks sent", Told.PACKET, rank=2, sees_all=True),  # NVML 177
    CounterKind("naks received", Told.PACKET, Side.SENDER, 3, sees_all=True),  # NVML 174
    # AER 0x100, NVML 95: the same packet was sent four times in vain
    CounterKind("replay number rollover", Told.PACKET, Side.SENDER, 5),
    CounterKind("replay timer", Told.ANSWER, Side.SENDER, 6),  # AER 0x1000
    CounterKind("replay", Told.PACKET, Side.SENDER, 4),  # NVML 94
    CounterKind("bad dllp", Told.LINK_MESSAGE),  # AER 0x80, NVML 178
    CounterKind("receiver error", Told.SYMBOL, rank=7, sees_all=True),  # AER 0x1, NVML 175
    CounterKind("lane error", Told.LANE, rank=8),  # NVML 183
)
"""The first kind whose name is part of a counter's name is that counter's."""

NOT_ERRORS = ("bytes", "recovery", "l0_to")
"""Parts of names of counters that count traffic or normal events."""


def kind_of(counter: str) -> CounterKind | None:
    """The kind of a counter, by its name with or without its end; None for one not known here.

    >>> kind_of("card bad TLP (correctable)").told, kind_of("port replay timer timeout").side
    (<Told.PACKET: 'packet'>, <Side.SENDER: 'sender'>)
    """
    small = counter.lower()
    return next((kind for kind in KINDS if kind.name in small), None)


def way_of(end: str, kind: CounterKind) -> str:
    """``to_card`` or ``to_host``: the way of whose traffic a counter of that end tells.

    >>> way_of("card", kind_of("bad TLP")), way_of("card", kind_of("NAKs received"))
    ('to_card', 'to_host')
    """
    return "to_card" if (kind.side is Side.RECEIVER) == (end == "card") else "to_host"
