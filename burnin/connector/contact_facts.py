"""All that is known of one contact, gathered as data."""

from __future__ import annotations

from dataclasses import dataclass

from burnin.connector.common_mistakes import MIXUPS
from burnin.connector.contact_map import Contact, beside, is_short, twin
from burnin.connector.edge_effects import edge_effects
from burnin.connector.effect import Effect
from burnin.connector.finding import AnyContact
from burnin.connector.measuring import Check, edge_checks, plug_checks
from burnin.connector.other_connectors import connectors, source_texts
from burnin.connector.plug_effects import plug_effects

_CARRIES = {
    "lane_tx": "what the card transmits on lane {lane}",
    "lane_rx": "what the card receives on lane {lane}",
    "ground": "return of supplies and signals",
    "power_12v": "12 V supply",
    "power_3v3": "3.3 V supply",
    "power_3v3aux": "3.3 V supply that stays on in standby",
    "presence_detect": "presence of a card in the slot",
    "reset": "fundamental reset, low while the bench starts",
    "clock": "100 MHz reference clock",
    "jtag": "boundary scan (JTAG)",
    "smbus": "system management bus",
    "wake": "the card's call to wake the bench, low when it calls",
    "clkreq": "request for the reference clock, low when asked for",
    "pwrbrk": "the bench's emergency call to save power, low when it calls",
    "reserved": "nothing: reserved, not to be connected",
    "sense": "what supply is at the plug, by ground or open",
    "rails_good": "whether the card's own rails are good, for the supply",
    "cable_presence": "that the plug is fully in, for the supply",
    "main_lane": "picture data, channel {lane}",
    "main_clock": "clock of the picture data",
    "config": "what kind of cable or adapter is plugged in",
    "aux": "talk with the screen: EDID and training",
    "ddc": "talk with the screen: EDID (DDC)",
    "ddc_ground": "return of DDC, CEC and +5 V",
    "hot_plug": "that a screen is there, and its calls (hot-plug detect)",
    "screen_power": "supply for adapter or screen",
    "cec": "remote control between devices (CEC)",
    "utility": "return audio or Ethernet",
    "alternate_pair": "DisplayPort lane or USB data",
    "configuration": "which way round the plug is, and messages (CC)",
    "usb2": "USB 2.0 data",
}


@dataclass(frozen=True)
class Told:
    """All that is told of one contact; `sources` are full texts by key."""

    name: str
    signal: str
    group: str
    lane: int | None
    pair: tuple[str, ...]
    direction: str
    polarity: str
    carries: str
    beside: tuple[str, ...]
    short_finger: bool
    effects: tuple[Effect, ...]
    measure: tuple[Check, ...]
    mix_up: str
    sources: dict[str, str]


def told_of(contact: AnyContact) -> Told:
    """Everything that is known of a contact, as data."""
    if isinstance(contact, Contact):
        effects, measure = edge_effects(contact.name), edge_checks(contact)
        near = tuple(c.name for c in beside(contact))
    else:
        effects, measure = plug_effects(contact), plug_checks(contact)
        near = ()
    return Told(
        contact.name,
        contact.signal,
        contact.group,
        contact.lane,
        _pair(contact),
        contact.direction,
        contact.polarity,
        _CARRIES[contact.group].format(lane=contact.lane),
        near,
        isinstance(contact, Contact) and is_short(contact.name),
        effects,
        measure,
        MIXUPS.get(contact.name, ""),
        {key: source_texts()[key] for key in contact.sources},
    )


def _pair(contact: AnyContact) -> tuple[str, ...]:
    """Names of both legs, the positive one first; empty for a single contact."""
    if not contact.polarity:
        return ()
    if isinstance(contact, Contact):
        other = twin(contact)
        assert other is not None
        return (contact.name, other.name) if contact.polarity == "p" else (other.name, contact.name)
    row = contact.label.rstrip("0123456789")
    legs = {
        c.polarity: c.name
        for c in connectors()[contact.connector].contacts
        if c.signal[:-1] == contact.signal[:-1] and c.label.rstrip("0123456789") == row
    }
    return (legs["p"], legs["n"])
