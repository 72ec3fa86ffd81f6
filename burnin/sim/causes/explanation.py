"""Every kind of cause explained: what it is, what follows from it, with which keys it is given.

The keys come from the causes' own models, so that they cannot differ from what is accepted.
"""

from __future__ import annotations

import types
from dataclasses import dataclass
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic_core import PydanticUndefined

from burnin.sim.causes.kinds import AnyCause


@dataclass(frozen=True)
class CauseKind:
    """A kind of cause. `shows_in`: stages that may show it; `example`: TOML that is accepted."""

    kind: str
    title: str
    what_follows: str
    shows_in: tuple[str, ...]
    keys: tuple[tuple[str, str], ...]
    example: str


_TEXTS: dict[str, tuple[str, str, tuple[str, ...], str]] = {
    "contact": (
        "A contact of the edge, of the card or of the slot's spring",
        "Open, resistive or shorted legs of a lane are not detected or lose margin: the link trains"
        " narrower or slower, or makes errors at the end that receives. Reset, clock and shorted"
        " supplies keep the card down; lost 12 V contacts warm the others, which may burn open."
        " With moved_at it is sound until a hand moves the card there.",
        ("enumeration", "link", "movement", "thermal_ramp"),
        'contact = "B54"\nstate = "resistive"\nohms = 60.0',
    ),
    "coupling_capacitor": (
        "A coupling capacitor of the card",
        "In series with one leg of a pair that the card transmits: the link cannot tell it from the"
        " contact of side A, a meter can.",
        ("link",),
        'lane = 9\nleg = "p"\nstate = "open"',
    ),
    "power_plug": (
        "A contact of a power plug, 12 V or sense",
        "An open sense line lowers what the card draws, or keeps it down; lost 12 V contacts warm"
        " the others. Needs power_plugs in [card].",
        ("enumeration", "thermal_ramp"),
        'plug = 0\ncontact = "4"\nstate = "open"',
    ),
    "supply_joint": (
        "The joint behind a power plug, with more resistance than a sound one",
        "The plug's current loses voltage there and warms it; the card works as before. Shows to a"
        " meter and a probe under load alone. Needs power_plugs in [card].",
        ("under_load",),
        "plug = 0\nohms = 0.002",
    ),
    "memory_cell": (
        "A memory cell, stuck or coupled to another bit",
        "One bit of one 32-bit word reads wrong wherever the pattern holds the other value.",
        ("memory",),
        "address = 0x1000\nbit = 3\nstuck_at = 1",
    ),
    "memory_line": (
        "A data line of a memory chip, stuck",
        "Every word of that chip reads that bit so.",
        ("memory",),
        "chip = 3\nbit = 7\nstuck_at = 0",
    ),
    "memory_chip": (
        "A memory chip that does not answer",
        "Every word of that chip reads as the resting bus.",
        ("memory",),
        "chip = 3",
    ),
    "compute": (
        "Arithmetic that flips a bit",
        "A repeated result differs from its first, once the die is hot enough.",
        ("compute",),
        "bit = 3\none_in = 1e6",
    ),
    "rail": (
        "Cracked capacitors behind the core's regulator",
        "A sudden rise of power by more than they carry makes results wrong for a moment.",
        ("all_at_once",),
        "holds_step_w = 200.0",
    ),
    "coolant": (
        "Coolant absent, or its flow ends",
        "The block warms for as long as the card works. Only with cooling water_loop.",
        ("thermal_ramp",),
        'state = "absent"',
    ),
    "fan": (
        "Fans stalled or worn",
        "Less heat leaves the cooler at the same drive. Only with cooling air.",
        ("thermal_ramp",),
        'state = "worn"\nspeed_factor = 0.6',
    ),
    "airflow": (
        "Clogged fins or radiator",
        "The cooler's resistance to the air is higher.",
        ("thermal_ramp",),
        "resistance_factor = 2.0",
    ),
    "mount": (
        "Block or heatsink badly mounted",
        "The die's resistance to the cooler is higher.",
        ("thermal_ramp",),
        "resistance_factor = 2.0",
    ),
    "paste": (
        "Paste missing under part of the die",
        "The hot spot lies further above the die.",
        ("thermal_ramp",),
        "hotspot_factor = 2.0",
    ),
    "output": (
        "One display output: a contact, or damaged EDID bytes",
        "Without hot-plug detect the monitor is not seen, without its data channel it stays"
        " nameless, without picture lane 0 a DisplayPort stays dark; with every_s and for_s the"
        " contact bounces, with moved it opens by touch. No other output is touched.",
        ("display", "movement"),
        'output = "DP-1"\ncontact = "hot_plug_detect"\nstate = "open"',
    ),
    "bus": (
        "The card leaves the bus",
        "It stops answering under load or once the board is warm, until the power is cycled; or its"
        " link bounces, and nothing but the kernel's log tells.",
        ("link", "memory", "compute", "thermal_ramp"),
        'state = "falls_off"\nafter_load_s = 45.0',
    ),
    "firmware": (
        "Firmware of another card",
        "Ids or version are not this card's own.",
        ("enumeration",),
        "device_id = 0x1234",
    ),
    "driver": (
        "The driver hangs, resets the card, or reports a fault",
        "Hung, its files answer no more and work stands still, while the card stays on the bus. Of"
        " a reset that succeeds and of a caught fault nothing but the kernel's log tells.",
        ("compute", "thermal_ramp"),
        'state = "hangs"\nafter_load_s = 30.0',
    ),
    "sensor": (
        "A sensor that lies, lags, scatters, is silent or slow to answer",
        "What it tells differs from what is, for ever, at times, or for so many reads of its file;"
        " the card itself is sound.",
        ("thermal_ramp",),
        'sensor = "hotspot"\nstate = "biased"\nbias = 12.0',
    ),
    "counter": (
        "A counter that begins again at 0, or that has few bits",
        "Only its differences speak of a run, and not over the moment at which it began again.",
        ("link", "thermal_ramp"),
        'counter = "energy"\nstate = "restarts"\nafter_load_s = 30.0',
    ),
}


def _allowed(annotation: Any) -> str:
    """What a key takes, in words."""
    origin = get_origin(annotation)
    if origin is Annotated:
        return _allowed(get_args(annotation)[0])
    if origin is Literal:
        return " or ".join(f'"{v}"' if isinstance(v, str) else str(v) for v in get_args(annotation))
    if origin in (Union, types.UnionType):
        parts = [_allowed(part) for part in get_args(annotation) if part is not type(None)]
        return " or ".join(dict.fromkeys(parts))
    if origin is tuple:
        return "a list of whole numbers"
    names = {float: "a number", int: "a whole number", str: "a text", bool: "true or false"}
    return names.get(annotation, "a value")


def _keys(model: type[BaseModel]) -> tuple[tuple[str, str], ...]:
    """Keys of a cause with what each takes; those that may be left out are in brackets."""
    found = []
    for name, field in model.model_fields.items():
        if name == "kind":
            continue
        needed = field.default is PydanticUndefined
        found.append((name if needed else f"[{name}]", _allowed(field.annotation)))
    return tuple(found)


def cause_kinds() -> tuple[CauseKind, ...]:
    """Every kind that a scenario may name, in the order of the model."""
    union, _ = get_args(AnyCause)
    found = []
    for model in get_args(union):
        (kind,) = get_args(model.model_fields["kind"].annotation)
        title, follows, shows_in, example = _TEXTS[kind]
        text = f'[[causes]]\nkind = "{kind}"\n{example}\n'
        found.append(CauseKind(kind, title, follows, shows_in, _keys(model), text))
    return tuple(found)


def causes_text(width: int = 96) -> str:
    """All kinds with their keys, for the terminal."""
    import textwrap

    lines = []
    for kind in cause_kinds():
        lines.append(f"{kind.kind}: {kind.title}")
        lines += textwrap.wrap(
            f"{kind.what_follows} May show in: {', '.join(kind.shows_in)}.", width,
            initial_indent="    ", subsequent_indent="    ",
        )  # fmt: skip
        keys = "; ".join(f"{name} {takes}" for name, takes in kind.keys)
        lines += textwrap.wrap(
            keys, width, initial_indent="    keys: ", subsequent_indent="          "
        )
        lines.append("")
    return "\n".join(lines)
