"""What a meter shows, read from text: number, unit, uncertainty; or open circuit."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from burnin.core.errors import BadInput
from burnin.core.quantities.spelling import (
    CELSIUS,
    NUMBER,
    OHM,
    UNIT,
    VOLT,
    as_typed,
    unit_of,
    without_code,
)

_OPEN = (
    *("ol", "o.l", "o.l.", "0l", "0.l", "0.l.", "o/l", "open", "over", "overload"),
    *("offen", "unendlich", "∞"),
)
_SHAPE = re.compile(
    rf"^(?P<below><)?\s*(?P<number>{NUMBER})\s*(?P<unit>{UNIT})\s*"
    rf"(?:(?:±|\+/-|\+-)\s*(?P<pm>{NUMBER})\s*(?P<pm_unit>%|{UNIT}))?$"
)
_UNSTABLE = (
    *("unstable", "unsettled", "rising", "falling", "drifting", "drifts", "jumps"),
    *("instabil", "unruhig", "steigt", "fällt", "schwankt", "springt"),
)
"""Words for a reading that does not stand still."""
_RANGE = re.compile(rf"^{NUMBER}\s*[^\d\s]*\s*(?:\.\.+|…|–|\bto\b|\bbis\b)\s*{NUMBER}")
_AGAIN = (
    "Measure again: black lead on ground, then the leads swapped; if it stays so, a capacitor still"
    " holds charge: leave the card unplugged for some minutes, let it discharge through a resistor,"
    " never by a screwdriver"
)
_MOST = {OHM: 1e9, VOLT: 5.0, CELSIUS: 400.0}
"""More than any meter of the bench shows in these modes; common practice, no source."""
_MODES = {OHM: "resistance in Ω", VOLT: "diode mode in V", CELSIUS: "a temperature in °C"}
_EXAMPLES = {OHM: "38 Ω, 4.7 kΩ or OL", VOLT: "0.452 V or OL", CELSIUS: "71 °C"}


@dataclass(frozen=True)
class Asked:
    """What is asked for: `unit`; where the ordinary of that unit does not fit, what does.

    `most`: more is no value of this point; a number of volts without a unit above `plain_most` may
    be meant in mV. `mode` and `example` are told where the text is refused, `again` what to do with
    a value that is negative or does not settle.
    """

    unit: str
    most: float
    plain_most: float
    mode: str
    example: str
    again: str


def at_rest(unit: str) -> Asked:
    """What is asked for on an unpowered card: Ω, or V in diode mode."""
    most = _MOST[unit]
    return Asked(unit, most, most, _MODES[unit], _EXAMPLES[unit], _AGAIN)


@dataclass(frozen=True)
class Meter:
    """A meter's accuracy as its data sheet gives it: per cent of reading plus a fixed part.

    `fixed_ohm`, `fixed_v`, `fixed_c`: the part in digits, in Ω, V and °C. The defaults suit a plain
    bench meter (common practice, no source), that of °C a thermocouple of type K, class 2 (IEC
    60584-1: 2.5 °C up to 333 °C; from memory).
    """

    pct: float = 1.0
    fixed_ohm: float = 0.05
    fixed_v: float = 0.003
    fixed_c: float = 2.5

    def uncertainty(self, value: float, unit: str) -> float:
        """Expanded uncertainty (k = 2): the accuracy is the half width of a rectangle.

        Its standard deviation is half width/√3 (JCGM 100:2008, 4.3.7).
        """
        fixed = {OHM: self.fixed_ohm, VOLT: self.fixed_v, CELSIUS: self.fixed_c}[unit]
        return 2.0 * (abs(value) * self.pct / 100.0 + fixed) / math.sqrt(3.0)


@dataclass(frozen=True)
class Quantity:
    """A value in Ω, V or °C with its expanded uncertainty; `value` None: open, over the range."""

    value: float | None
    unit: str
    uncertainty: float


def parse_quantity(text: str, want: str | Asked, meter: Meter | None = None) -> Quantity:
    """What a meter shows: ``38 Ω``, ``4k7``, ``0,452 V``, ``OL``, ``38 ± 0.5 Ω``, ``71 °C``.

    `want` is what the measuring point has, or its unit alone: Ω or V (diode mode); a number without
    a unit is in it. Raises BadInput that says what is wrong.
    """
    asked = at_rest(want) if isinstance(want, str) else want
    cleaned = as_typed(text)
    if not cleaned:
        raise BadInput(f"no value given; type what the meter shows, such as {asked.example}")
    if cleaned.lower() in _OPEN:
        return Quantity(None, asked.unit, 0.0)
    if cleaned.lower().rstrip("!.") in _UNSTABLE or _RANGE.match(cleaned):
        raise BadInput(f"{text[:40]!r} does not settle, and is no value. {asked.again}")
    found = _SHAPE.match(without_code(cleaned, text))
    if not found:
        raise BadInput(f"{text[:40]!r} is not a value with a unit, such as {asked.example}")
    value = _number(found["number"], text)
    stated = found["unit"] or (found["pm_unit"] if found["pm_unit"] not in (None, "%") else "")
    unit, factor = unit_of(stated, text) if stated else (asked.unit, 1.0)
    if unit != asked.unit:
        raise BadInput(f"{text[:40]!r} is in {unit}, but this point is measured as {asked.mode}")
    if not stated and unit == VOLT and value > asked.plain_most:
        raise BadInput(f"{text[:40]!r}: V or mV? Write the unit that the meter shows")
    value *= factor
    if value < 0.0 or math.copysign(1.0, value) < 0.0:
        raise BadInput(f"{text[:40]!r} is negative, which no part reads. {asked.again}")
    if value > asked.most:
        raise BadInput(
            f"{text[:40]!r} is more than a meter shows here ({asked.most:g} {unit}); over the"
            " range is OL"
        )
    if found["below"]:
        return _below(value, unit, found, text)
    if found["pm"] is None:
        return Quantity(value, unit, (meter or Meter()).uncertainty(value, unit))
    return Quantity(value, unit, _stated(found, unit, value, factor, text))


def _below(most: float, unit: str, found: re.Match[str], text: str) -> Quantity:
    """Anything from nothing to that much is as likely: its middle, half of it either way."""
    if most == 0.0 or found["pm"] is not None:
        raise BadInput(f"{text[:40]!r} is no value; write it as in '<0.1 Ω'")
    return Quantity(most / 2.0, unit, most / 2.0)


def _stated(
    found: re.Match[str], unit: str, value: float, factor: float, text: str
) -> float:
    amount, own = _number(found["pm"], text), found["pm_unit"]
    if amount < 0.0:
        raise BadInput(f"{text[:40]!r}: an uncertainty is not negative")
    if amount == 0.0:
        raise BadInput(f"{text[:40]!r}: no meter is perfect; give the accuracy of its data sheet")
    if own == "%":
        return value * amount / 100.0
    own_unit, own_factor = unit_of(own, text) if own else (unit, factor)
    if own_unit != unit:
        raise BadInput(f"{text[:40]!r}: value and uncertainty have different units")
    return amount * own_factor


def _number(text: str, whole: str) -> float:
    if re.search(r",\d{3}$", text) and not text.startswith(("0,", ",")):
        raise BadInput(
            f"{whole[:40]!r}: does the comma part thousands or decimals? Write a point for decimals"
        )
    value = float(text.replace(",", "."))
    if not math.isfinite(value):
        raise BadInput(f"{whole[:40]!r} is too large a number")
    if value == 0.0 and re.search("[1-9]", re.split("[eE]", text)[0]):
        raise BadInput(f"{whole[:40]!r} is too small a number")
    return value


def parse_meter(text: str) -> Meter:
    """A meter's accuracy such as ``0.8%+0.2`` (per cent of reading + Ω); raises BadInput."""
    found = re.match(r"^\s*([\d.]+)\s*%\s*(?:\+\s*([\d.]+)\s*)?$", text)
    try:
        if not found:
            raise ValueError
        pct, fixed = float(found[1]), float(found[2] or 0.0)
    except ValueError:
        raise BadInput(
            f"meter {text!r}: give its accuracy as per cent of reading and a fixed part, such as"
            " 0.8%+0.2"
        ) from None
    if pct == 0.0 and fixed == 0.0:
        raise BadInput(f"meter {text!r}: no meter is perfect; give the accuracy of its data sheet")
    return Meter(pct, fixed, min(fixed, 0.003))
