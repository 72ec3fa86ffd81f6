"""What is believed of faults before the link was looked at: how many, where, and what was told.

A ticket's list of damage and a meter's word at a contact are evidence of a stated strength, never
a verdict. Neighbours fail together where something gouged the edge.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING

from burnin.connector.contact_map import contacts
from burnin.diagnosis.evidence import Evidence, Measured
from burnin.diagnosis.faults import Fault, Where

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

P_NONE, P_ONE, P_TWO, P_GOUGE = 0.42, 0.40, 0.11, 0.05
"""How many faults a card that comes back from a repair has, and that one stroke made two (belief);
the rest is what no model holds."""
P_ELSE = 0.03
_PORT_UNREAD = 4.0
"""How many times as probable a host holds the speed where its port can't be asked: then the card's
own word stands for what both ends can."""
_TICKET_RIGHT, _TICKET_NEAR = 0.35, 0.25
"""How often a ticket's damaged contacts hold the fault, and lie within two contacts of it
(belief)."""
_NEAR = 2
ON_CARD = (Where.CONTACT, Where.PAIR)
OF_BENCH = (
    Where.SLOT_CONTACT,
    Where.SLOT_WIRING,
    Where.HOST_SPEED,
    Where.POWER_SAVING,
    Where.RISER,
)
_METER: dict[str, tuple[float, float, float]] = {
    "open": (0.60, 0.90, 0.01),
    "off": (0.28, 0.05, 0.01),
    "alike": (0.12, 0.05, 0.98),
}
"""Chance of a meter's word at a contact: with a bad contact there, with both wires gone there, and
with nothing wrong there (belief)."""


def told_of(faults: Sequence[Fault], evidence: Evidence, damaged: Collection[str]) -> Floats:
    """How many times as probable what ticket and meter say is by each fault as by none."""
    import numpy as np

    found = np.ones(len(faults))
    unread = all(look.target_generation is None for look in evidence.looks)
    for row, fault in enumerate(faults):
        if unread and fault.where is Where.HOST_SPEED:
            found[row] *= _PORT_UNREAD
        if damaged:
            found[row] *= _ticket(fault, frozenset(damaged))
        for measured in evidence.measured:
            found[row] *= _meter(fault, measured)
    return found


def _ticket(fault: Fault, damaged: frozenset[str]) -> float:
    """Against a ticket that lists contacts at random."""
    if fault.where not in ON_CARD:
        return 1.0 - _TICKET_RIGHT - _TICKET_NEAR
    return ticket_says(fault.contacts, damaged)


def ticket_says(at: frozenset[str], damaged: frozenset[str]) -> float:
    """How many times as probable a ticket's contacts are by a fault at these contacts of the card's
    edge as by chance."""
    value = 1.0 - _TICKET_RIGHT - _TICKET_NEAR
    near = near_to(damaged)
    if at & damaged:
        value += _TICKET_RIGHT * len(contacts()) / len(damaged)
    elif at & near:
        value += _TICKET_NEAR * len(contacts()) / len(near)
    return value


def near_to(names: Collection[str]) -> frozenset[str]:
    """Contacts of the same side within two of any of these, themselves left out."""
    found = set()
    for name in names:
        contact = contacts()[name]
        for step in range(-_NEAR, _NEAR + 1):
            beside = f"{contact.side}{contact.number + step}"
            if beside in contacts():
                found.add(beside)
    return frozenset(found) - frozenset(names)


def _meter(fault: Fault, measured: Measured) -> float:
    bad, both, sound = _METER[measured.state]
    if measured.contact not in fault.contacts:
        return 1.0
    if fault.where is Where.PAIR:
        return both / sound
    return bad / sound if fault.where in (Where.CONTACT, Where.CAPACITOR) else 1.0


def gouges(faults: Sequence[Fault], weights: Floats) -> Floats:
    """How two contacts side by side share what one stroke does; adds up to 1, both orders."""
    import numpy as np

    at = {f.name: row for row, f in enumerate(faults) if f.where is Where.CONTACT}
    found = np.zeros((len(faults),) * 2)
    for name, row in at.items():
        contact = contacts()[name]
        for step, share in ((1, 1.0), (2, 0.4)):
            other = at.get(f"{contact.side}{contact.number + step}")
            if other is not None:
                found[row, other] = found[other, row] = share * weights[row] * weights[other]
    whole = found.sum()
    return found / whole if whole else found
