"""Effects of a damaged contact of a power or display connector, derived from its group.

Budgets and currents come from connectors.toml (Intel 336521 and Wikipedia, named there). What has
no source says so in its text.
"""

from __future__ import annotations

from collections.abc import Callable

from burnin.connector.effect import STATES, Effect, State
from burnin.connector.other_connectors import Connector, PlugContact, SenseRow, connectors
from burnin.connector.training import widest_link

DISPLAYPORT_LANES = 4

_UNSOURCED = "(common practice, no source)"
_PICTURE = (
    "detection and EDID are read, not the picture:"
    " show the screen's highest mode and look"
)
_UNREAD = "record its continuity before power"


def _current(contact: PlugContact, connector: Connector, state: State) -> Effect:
    count = connector.count(contact.group)
    share, rest = connector.current_a / count, connector.current_a / (count - 1)
    if state == "shorted":
        if contact.group == "ground":
            return Effect(
                state, "bridge to 12 V?", "To a 12 V contact: the supply trips or the plug burns.",
                ("enumeration",), "never find out by powering up: measure first",
            )  # fmt: skip
        text = "12 V to ground: the supply trips or does not start."
        gap = "never find out by powering up: measure first"
        return Effect(state, "12 V shorted", text, ("enumeration",), gap)
    over = (
        f", above the contact's rating of {connector.contact_rating_a:g} A: the plug overheats"
        if rest > connector.contact_rating_a
        else f", within the contact's rating of {connector.contact_rating_a:g} A"
    )
    text = (
        f"At {connector.current_a:g} A the other {count - 1} carry {rest:.2f} A each instead of"
        f" {share:.2f} A{over}."
    )
    gap = "record the voltage across plug and socket under load, and its heat"
    return Effect(state, f"{rest:.2f} A in the others", text, gap=gap)


def sense_row(connector: Connector, lines: dict[str, str]) -> SenseRow | None:
    """The row of the connector's sense table for that state of the lines."""
    return next((row for row in connector.sense if row.lines == lines), None)


def _allowed(row: SenseRow | None) -> str:
    if row is None or row.running_w is None:
        return "a state that the standard reserves"
    if row.running_w == 0.0:
        return f"'{row.meaning}': nothing may be drawn here"
    start = f", {row.start_w:g} W at power-up" if row.start_w != row.running_w else ""
    return f"'{row.meaning}': at most {row.running_w:g} W{start}"


def _sense(contact: PlugContact, connector: Connector, state: State) -> Effect:
    signals = [c.signal for c in connector.contacts if c.group == "sense"]
    grounded = dict.fromkeys(signals, "ground")
    if state == "shorted":
        text = (
            f"To ground it always says yes: with all of them grounded the card reads"
            f" {_allowed(sense_row(connector, grounded))}, whatever supply is there."
        )
        gap = "compare them with the supply before power"
        return Effect(state, "claims too much", text, gap=gap)
    row = sense_row(connector, grounded | {contact.signal: "open"})
    if state == "resistive":
        text = "Between ground and open the card may read either, and change with temperature."
        return Effect(state, "unsure budget", text, ("thermal_ramp",))
    nothing = row is None or not row.running_w
    text = (
        f"With a supply of full power the card reads {_allowed(row)}."
        + (" Many cards then do not start." if nothing else " It holds its power down to that.")
    )
    stages = ("enumeration", "thermal_ramp") if nothing else ("thermal_ramp",)
    brief = "no budget" if row is None or not row.running_w else f"at most {row.running_w:g} W"
    return Effect(state, brief, text, stages)


def _main_lane(contact: PlugContact, connector: Connector, state: State) -> Effect:
    if state == "resistive":
        text = "Less margin: sparks, blackouts or a smaller choice of modes at high rates."
        return Effect(state, "unsteady picture", text, gap=_PICTURE)
    if connector.key == "hdmi" or contact.lane is None:
        text = f"No picture, or one without that channel's colour {_UNSOURCED}."
        return Effect(state, "no picture", text, gap=_PICTURE)
    lanes = widest_link({contact.lane}, DISPLAYPORT_LANES)
    text = (
        f"Lanes are used from 0 on, 1, 2 or 4 of them (from memory): at most {lanes} remain"
        if lanes
        else "Lane 0 carries every picture: none comes"
    )
    return Effect(state, f"{lanes} of 4 lanes" if lanes else "no picture", f"{text}.", gap=_PICTURE)


def _screen_power(_: PlugContact, connector: Connector, state: State) -> Effect:
    if connector.key == "hdmi":
        text = "Without +5 V most screens neither raise hot-plug detect nor answer with an EDID"
        return Effect(state, "screen not noticed", f"{text} {_UNSOURCED}.", ("display",))
    if state == "shorted":
        text = "The socket's supply is shorted: its fuse or switch opens, adapters get no power."
        return Effect(state, "no adapter power", text, gap=_UNREAD)
    if connector.key == "usbc":
        text = f"The other {connector.count('screen_power') - 1} VBUS contacts carry its share."
        return Effect(state, "nothing seen", text, gap=_UNREAD)
    text = "Powers adapters, not screens: an ordinary cable does not carry it."
    return Effect(state, "adapters dead", text, gap="try an adapter")


_SCREEN: dict[str, tuple[str, str, tuple[str, ...], str]] = {
    "hot_plug": (
        "screen not noticed",
        "This output does not notice a screen, or sees it come and go. No other output, nothing of"
        " the slot is touched by it.", ("display",), ""),
    "aux": (
        "no EDID",
        "No talk with the screen: no EDID, no training of the main lanes, no picture.",
        ("display",), ""),
    "ddc": ("no EDID", "The screen's EDID cannot be read, or arrives damaged.", ("display",), ""),
    "ddc_ground": (
        "EDID damaged",
        "Return of DDC, CEC and +5 V: the EDID may fail or arrive damaged.", ("display",), ""),
    "configuration": (
        "dead one way up",
        "No agreement with the screen while the plug is in the way round that uses this contact:"
        " no DisplayPort mode and no hot-plug message. Turn the plug and try again.",
        ("display",), ""),
    "alternate_pair": (
        "no picture one way up",
        "A DisplayPort lane or USB is lost, by the way the plug is in and by the mode: no picture,"
        " a smaller mode, or no USB one way up.", (), _PICTURE),
    "main_clock": ("no picture", "No clock, no picture.", (), _PICTURE),
    "config": (
        "adapter not known", "Tells passive adapters from screens; a plain cable does not use it.",
        (), "try a passive adapter"),
    "cec": ("no remote control", "The picture does not need it.", (), _UNREAD),
    "utility": ("no return audio", "Return audio or Ethernet; the picture does not need it.",
                (), _UNREAD),
    "usb2": ("no USB 2.0", "The picture does not need it.", (), _UNREAD),
    "ground": ("less margin", "The other grounds carry the return; fast modes may grow unsteady.",
               (), _PICTURE),
    "rails_good": (
        "fault not told", "The supply does not learn of a fault on the card's rails; optional.",
        (), _UNREAD),
    "cable_presence": (
        "card not seen",
        "A supply that watches it does not see the plug as fully in and may keep 12 V off.",
        ("enumeration",), "a supply that does not watch it shows nothing"),
}  # fmt: skip


def _by_table(contact: PlugContact, _: Connector, state: State) -> Effect:
    brief, text, stages, gap = _SCREEN[contact.group]
    if contact.group == "ground" and state == "shorted":
        return Effect(state, "grounds a neighbour", "A bridge grounds its neighbour: see there.",
                      gap=gap)  # fmt: skip
    if contact.group == "cable_presence" and state == "shorted":
        return Effect(state, "always present", "Looks fully in, whether it is or not.", gap=_UNREAD)
    if state == "resistive":
        text = f"In part, coming and going: {text}"
    return Effect(state, brief, text, stages, gap)


_RULES: dict[str, Callable[[PlugContact, Connector, State], Effect]] = {
    "power_12v": _current,
    "sense": _sense,
    "main_lane": _main_lane,
    "screen_power": _screen_power,
}


def plug_effects(contact: PlugContact) -> tuple[Effect, ...]:
    """Open, resistive, shorted, of a contact of a power or display connector."""
    connector = connectors()[contact.connector]
    if contact.group == "ground" and connector.kind == "power":
        return tuple(_current(contact, connector, state) for state in STATES)
    rule = _RULES.get(contact.group, _by_table)
    return tuple(rule(contact, connector, state) for state in STATES)
