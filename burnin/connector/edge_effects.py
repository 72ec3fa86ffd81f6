"""Effects of an open, resistive or shorted edge contact, derived from its group and lane.

Sources: training rules and error counting from PCI Express Base Specification, 4.2 and 7.8 (second
hand: MindShare, ch. 14; Linux, sysfs-bus-pci-devices-aer); slot power from the Card
Electromechanical Specification (second hand: Wikipedia, "PCI Express", power). What has no source
says so in its text.
"""

from __future__ import annotations

from collections.abc import Callable

from burnin.connector.contact_map import (
    LANE_GROUPS,
    PRESENCE_END,
    Contact,
    beside,
    contacts,
    same_group,
)
from burnin.connector.effect import STATES, Effect, State
from burnin.connector.training import widest_link

LANES = 16
SLOT_CURRENT_A = {"power_12v": 5.5, "power_3v3": 3.0}
"""What an x16 graphics card may draw from the slot (12 V: Wikipedia; 3.3 V: from memory)."""

_UNSOURCED = "(common practice, no source)"
_CONTINUITY = "record its continuity before power"


def counting_end(contact: Contact) -> str:
    """Which end counts the errors of a lane contact: the one that receives on its pair."""
    return "card" if contact.group == "lane_rx" else "port above the card"


def lanes_of_width(width_lanes: int) -> list[int]:
    """The lanes each of which, dead alone, leaves exactly that width."""
    return [lane for lane in range(LANES) if widest_link({lane}) == width_lanes]


def _width_text(lane: int) -> str:
    width, turned = widest_link({lane}), widest_link({lane}, reversed_=True)
    if width == 0:
        return f"No link: numbers start at lane 0. A port that reverses lanes may reach x{turned}."
    alike = [str(other) for other in lanes_of_width(width) if other != lane]
    text = f"The link trains x{width}: lanes number from 0 without a gap, and {lane} is missing."
    if turned > width:
        text += f" A port that reverses lanes may reach x{turned}."
    if alike:
        text += f" The width does not name the lane: {', '.join(alike)} dead give the same."
    return text


def _lane(contact: Contact, state: State) -> Effect:
    assert contact.lane is not None
    lane, end, width = contact.lane, counting_end(contact), widest_link({contact.lane})
    lost = ("enumeration", "link") if width == 0 else ("link",)
    brief = "no link" if width == 0 else f"x{width}"
    if state == "open":
        text = (
            f"Lane {lane} loses one leg of a pair and both its directions with it."
            f" {_width_text(lane)} A transmitter that judges the mean of both legs keeps the lane:"
            f" then full width, at 2.5 or 5 GT/s only {_UNSOURCED}."
        )
        return Effect(state, brief, text, lost, width_lanes=width)
    if state == "resistive":
        text = (
            f"Lane {lane} is found and trains with less margin. Errors under traffic are counted"
            f" by the {end}, whose lane error bit {lane} is set from 8 GT/s on; a rate lower they"
            " vanish, or the link goes there by itself. Enough ohms act as open."
        )
        return Effect(state, f"errors, by the {end}", text, ("link",))
    text = (
        f"To ground: the leg carries nothing, lane {lane} is lost as with an open contact."
        f" {_width_text(lane)} To the other leg: the pair's signal cancels, with the same end."
    )
    return Effect(state, brief, text, lost, width_lanes=width)


def _ground(contact: Contact, state: State) -> Effect:
    others = len(same_group(contact)) - 1
    pairs = sorted({c.lane for c in beside(contact) if c.lane is not None})
    near = f" lane {' and '.join(map(str, pairs))} beside it" if pairs else " no lane beside it"
    if state == "shorted":
        live = [c for c in beside(contact) if c.group != "ground"]
        if not live:
            text = "Its neighbours are ground too: a bridge changes nothing."
            return Effect(state, "nothing", text, gap="nothing to show")
        effects = [edge_effect(c, "shorted") for c in live]
        stages = tuple(sorted({stage for effect in effects for stage in effect.stages}))
        widths = [e.width_lanes for e in effects if e.width_lanes is not None]
        names = " or ".join(c.name for c in live)
        return Effect(
            state,
            f"grounds {names}",
            f"A bridge grounds {names}: see there, shorted.",
            stages,
            "" if stages else _CONTINUITY,
            min(widths, default=None),
        )
    text = f"{others} other grounds carry the return: idle and slow rates look sound."
    if pairs:
        text += f" There may be errors from 8 GT/s on at{near} {_UNSOURCED}."
    return Effect(state, "less margin" if pairs else "nothing seen", text, gap=_CONTINUITY)


def _power(contact: Contact, state: State) -> Effect:
    count, current_a = len(same_group(contact)), SLOT_CURRENT_A[contact.group]
    volts = "12 V" if contact.group == "power_12v" else "3.3 V"
    if state == "shorted":
        text = f"{volts} to ground: the bench trips or does not start; a trace may burn."
        gap = "never find out by powering up: measure first"
        return Effect(state, f"{volts} shorted", text, ("enumeration",), gap, 0)
    text = (
        f"The other {count - 1} take its share: at the slot's {current_a:g} A each carries"
        f" {current_a / (count - 1):.2f} A instead of {current_a / count:.2f} A. Idle is"
        " unaffected; under load fingers warm and the rail sags, up to a reset."
    )
    if state == "resistive":
        text = f"{text} The contact itself warms, the more the more current it still takes."
    gap = f"record continuity before power and {volts} under load"
    return Effect(state, f"{current_a / (count - 1):.2f} A in the others", text, gap=gap)


def _aux(_: Contact, state: State) -> Effect:
    if state == "shorted":
        text = "The bench's standby supply is shorted: it may not switch on at all."
        return Effect(state, "standby shorted", text, ("enumeration",), "measure first", 0)
    text = "No standby power: the card cannot wake the bench. A running bench shows nothing."
    return Effect(state, "no waking", text, gap=_CONTINUITY)


def _presence(contact: Contact, state: State) -> Effect:
    if contact.name not in ("A1", PRESENCE_END[LANES]):
        text = (
            "The presence contact of a shorter edge. Whether an x16 card ties it to A1 depends on"
            " the card; without it an x16 slot still sees A1 to B81."
        )
        return Effect(state, "nothing in an x16 slot", text, gap=_CONTINUITY)
    if state == "shorted":
        text = "The slot sees a card, whether all the way in or not. Otherwise nothing."
        return Effect(state, "always present", text, gap=_CONTINUITY)
    gap = f"a bench that ignores presence, as many do {_UNSOURCED}, shows nothing: record A1 to B81"
    if state == "resistive":
        text = "A strap: it works until the ohms reach thousands (estimate, no source)."
        return Effect(state, "nothing seen", text, gap=gap)
    text = "A slot that is switched by presence does not see the card. Lanes and rails are sound."
    return Effect(state, "not seen by such a slot", text, ("enumeration",), gap)


def _reset(_: Contact, state: State) -> Effect:
    if state == "resistive":
        text = "A slow signal: it passes until the ohms reach thousands (estimate, no source)."
        return Effect(state, "unsure start", text, ("enumeration",), _CONTINUITY)
    how = "is held in reset" if state == "shorted" else "gets no clean reset"
    text = f"The card {how} {_UNSOURCED}: rails up, fans may spin, it never appears."
    return Effect(state, "card missing", text, ("enumeration",), width_lanes=0)


def _clock(_: Contact, state: State) -> Effect:
    if state == "resistive":
        text = (
            "The clock arrives smaller and less steady: errors on all lanes at once, a lower rate,"
            f" or no start {_UNSOURCED}."
        )
        return Effect(state, "errors on all lanes", text, ("enumeration", "link"))
    text = f"No reference clock {_UNSOURCED}: rails up, fans may spin, the card never appears."
    return Effect(state, "card missing", text, ("enumeration",), width_lanes=0)


_SIDE: dict[str, dict[State, tuple[str, str]]] = {
    "jtag": {
        "open": ("no boundary scan", "Boundary scan through the slot does not work; few benches"
                 " wire it. The running card does not use it."),
        "shorted": ("no boundary scan", "Boundary scan does not work. TRST# low keeps it in reset,"
                    " which is its resting state."),
    },
    "smbus": {
        "open": ("not on the SMBus", "The bench cannot reach the card's SMBus parts; a running"
                 " card does not need them."),
        "shorted": ("bench's SMBus stuck", "The bench's own management bus may hang: sensors, fan"
                    " control and memory profiles of the bench, not of the card."),
    },
    "wake": {
        "open": ("no waking", "The card cannot wake the bench from standby."),
        "shorted": ("bench wakes", "The bench wakes by itself, or does not stay in standby."),
    },
    "reserved": {
        "open": ("nothing", "Left unconnected by the standard: an open contact changes nothing."),
        "shorted": ("nothing", "Unconnected: a bridge to one neighbour changes nothing, one that"
                    " reaches on to the next joins those two."),
    },
}  # fmt: skip


def _sideband(contact: Contact, state: State) -> Effect:
    brief, text = _SIDE[contact.group]["shorted" if state == "shorted" else "open"]
    if state == "resistive" and contact.group != "reserved":
        text = f"Works until the ohms reach thousands (estimate, no source); then: {text}"
    gap = "nothing to show" if contact.group == "reserved" else _CONTINUITY
    return Effect(state, brief, text, gap=gap)


def _clkreq(_: Contact, state: State) -> Effect:
    gap = f"most benches run the slot's clock always {_UNSOURCED}: those show nothing"
    if state == "shorted":
        text = "The clock is asked for always: that power saving of the link never begins."
        return Effect(state, "no clock saving", text, gap=gap)
    text = (
        "The request for the reference clock does not reach the bench. A bench that switches the"
        " clock by it never starts the card. Before it was given this use, B12 was reserved."
    )
    return Effect(state, "clock not asked for", text, ("enumeration",), gap)


def _pwrbrk(_: Contact, state: State) -> Effect:
    if state == "shorted":
        text = "The card is told to save power all the time: clocks and power stay low under load."
        return Effect(state, "slowed down", text, ("thermal_ramp",))
    text = "An emergency call to save power does not arrive. Before this use, B30 was reserved."
    return Effect(state, "nothing seen", text, gap=_CONTINUITY)


_RULES: dict[str, Callable[[Contact, State], Effect]] = {
    **dict.fromkeys(LANE_GROUPS, _lane),
    **dict.fromkeys(SLOT_CURRENT_A, _power),
    **dict.fromkeys(_SIDE, _sideband),
    "ground": _ground,
    "power_3v3aux": _aux,
    "presence_detect": _presence,
    "reset": _reset,
    "clock": _clock,
    "clkreq": _clkreq,
    "pwrbrk": _pwrbrk,
}


def edge_effect(contact: Contact, state: State) -> Effect:
    """What that state of an edge contact does to an x16 card in an x16 slot."""
    return _RULES[contact.group](contact, state)


def edge_effects(name: str) -> tuple[Effect, ...]:
    """Open, resistive, shorted, of the edge contact of that name."""
    return tuple(edge_effect(contacts()[name], state) for state in STATES)
