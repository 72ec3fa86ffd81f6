"""What to measure with a meter before power, contact by contact, and with which caution.

Where the capacitors sit: at the transmitter (PCI Express Card Electromechanical Specification,
second hand), so a card's side A pairs meet one on the card and its side B pairs run straight to the
chip. Values to expect are common practice without source: a sound card of the same make, or the
same measurement on the other lanes, is the better reference.
"""

from __future__ import annotations

from dataclasses import dataclass

from burnin.connector.contact_map import LANE_GROUPS, PRESENCE_END, Contact, contacts
from burnin.connector.other_connectors import PlugContact, connectors

CAUTION = (
    "Unplug the bench, take the card out and all its cables off; wait until its rails have"
    " discharged (below 0.1 V by the meter); wear a grounded wrist strap. A meter in resistance or"
    " diode mode on a live card lies, and harms the meter or the card."
)
_LEADS = "Subtract what the meter shows with its leads touching."
_SLIP = "A slipping probe bridges two contacts or scratches the plating: use needle tips."
_DO_NOT_POWER = "Do not power the card to find out: a short there burns traces or slot."


@dataclass(frozen=True)
class Check:
    """A measurement: what to do, what a sound contact shows, what to mind."""

    do: str
    expect: str
    caution: str


def _lane(contact: Contact) -> tuple[Check, ...]:
    across = "Diode mode, red lead on ground, black lead"
    alike = f"the same as the other leg of the pair and as the other lanes of side {contact.side}"
    if contact.group == "lane_rx":
        return (
            Check(
                f"{across} on the finger: the pair runs straight to the chip.",
                f"{alike}, within a few hundredths of a volt; open or near 0 V is damage",
                _SLIP,
            ),
        )
    return (
        Check(
            "Continuity from the finger to the near end of its coupling capacitor: side A is what"
            " the card transmits, so the capacitor sits on the card.",
            "below 1 Ω",
            _LEADS,
        ),
        Check(
            f"{across} on the far end of the capacitor; at the finger itself the capacitor blocks"
            " the reading.",
            alike,
            _SLIP,
        ),
        Check(
            "Capacitance across that capacitor, compared with its twin's.",
            "equal; 176 to 265 nF on cards of 8 GT/s and more (from memory), 75 to 265 nF before",
            "Measured in the circuit it may read too high: compare, do not judge alone.",
        ),
    )


_TO_GROUND = "Resistance from the finger to ground (bracket screw)"


def _presence(contact: Contact) -> Check:
    last = PRESENCE_END[16]
    if contact.name in ("A1", last):
        do = f"Continuity from A1 to {last}: an x16 card ties them."
        return Check(do, "below 1 Ω; and not to ground", _LEADS)
    return Check(
        "Continuity from the finger to A1.",
        "as on a sound card of the same make: below 1 Ω or open, both occur",
        _LEADS,
    )


def _rail(contact: Contact, volts: str) -> tuple[Check, ...]:
    alike = [c.name for c in contacts().values() if c.group == contact.group]
    checks = [
        Check(
            f"{_TO_GROUND}, after some seconds: the rail's capacitors charge first.",
            f"as on a sound card; below a few ohms {volts} is shorted",
            _DO_NOT_POWER,
        )
    ]
    if len(alike) > 1:
        joined = ", ".join(alike)
        checks.insert(0, Check(f"Continuity among {joined}.", "below 1 Ω each", _LEADS))
    return tuple(checks)


_SIGNALS = {
    "reset": "thousands of ohms; near 0 Ω holds the card in reset",
    "smbus": "the two lines alike; near 0 Ω can hang the bench's management bus",
    "jtag": "as on a sound card; TDI and TDO may be joined on the card",
    "wake": "thousands of ohms or open",
    "clkreq": "as on a sound card: open, or near 0 Ω where the card ties it low",
    "pwrbrk": "thousands of ohms; near 0 Ω slows the card down for good",
    "reserved": "open: nothing is connected there",
}


def edge_checks(contact: Contact) -> tuple[Check, ...]:
    """What to measure at a contact of the edge, in order."""
    group = contact.group
    if group in LANE_GROUPS:
        return _lane(contact)
    if group == "ground":
        return (Check(f"{_TO_GROUND}.", "below 1 Ω", _LEADS),)
    if group in ("power_12v", "power_3v3", "power_3v3aux"):
        return _rail(contact, "12 V" if group == "power_12v" else "3.3 V")
    if group == "presence_detect":
        return (_presence(contact),)
    if group == "clock":
        return (
            Check(
                "Diode mode, red lead on ground, black lead on the finger.",
                "the same as the other leg of the pair; where both read open, look for capacitors"
                " in series and read past them",
                _SLIP,
            ),
        )
    return (Check(f"{_TO_GROUND}.", _SIGNALS[group], _SLIP),)


def plug_checks(contact: PlugContact) -> tuple[Check, ...]:
    """What to measure at a contact of a power or display connector, in order."""
    connector = connectors()[contact.connector]
    group = contact.group
    if group == "ground":
        return (Check("Resistance from the contact to ground.", "below 1 Ω", _LEADS),)
    if connector.kind == "power":
        return (_power_check(contact),)
    if contact.polarity:
        return (
            Check(
                "Diode mode, red lead on ground, black lead on the contact; past a coupling"
                " capacitor where the card has one.",
                f"the same as the other leg of its pair and as the same kind of contact of another"
                f" {connector.key} socket",
                _SLIP,
            ),
        )
    if group == "screen_power":
        return (
            Check(
                "Resistance from the contact to ground.",
                "hundreds of ohms or more; near 0 Ω its supply is shorted",
                _DO_NOT_POWER,
            ),
        )
    return (
        Check(
            "Resistance and diode mode from the contact to ground.",
            f"as the same contact of another {connector.key} socket of the card; not near 0 Ω",
            _SLIP,
        ),
    )


def _power_check(contact: PlugContact) -> Check:
    if contact.group == "power_12v":
        return Check(
            "Resistance from the contact to ground, and continuity to the connector's other 12 V"
            " contacts.",
            "not near 0 Ω to ground; below 1 Ω to the others, unless the card groups them",
            _DO_NOT_POWER,
        )
    if contact.group == "cable_presence":
        return Check(
            "Resistance from the contact to ground.",
            "4.7 kΩ (Intel 336521, 3.3.3)",
            _LEADS,
        )
    if contact.group == "sense":
        return Check(
            "On the card: resistance to ground. On the supply's plug, unplugged: continuity to its"
            " ground contacts.",
            "card: thousands of ohms; plug: as the sense table says for that supply",
            "Never bridge a sense contact to make a card start: it then draws more than the supply"
            " or the cable can give.",
        )
    return Check("Resistance from the contact to ground.", "thousands of ohms or open", _LEADS)
