"""What a meter shows, read from text: number, unit, uncertainty; or open circuit."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from burnin.core.errors import BadInput
from burnin.core.meaning import Term
from burnin.core.quantities.refusals import AskedTerm, QuantityRefusal
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
_MOST = {OHM: 1e9, VOLT: 5.0, CELSIUS: 400.0}
"""More than any meter of the bench shows in these modes; common practice, no source."""
_MODES = {
    OHM: AskedTerm.RESISTANCE(),
    VOLT: AskedTerm.DIODE(),
    CELSIUS: AskedTerm.TEMPERATURE(),
}
_EXAMPLES = {
    OHM: AskedTerm.SUCH_AS_OHM(),
    VOLT: AskedTerm.SUCH_AS_DIODE(),
    CELSIUS: AskedTerm.SUCH_AS_CELSIUS(),
}


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
    mode: Term
    example: Term
    again: Term


def at_rest(unit: str) -> Asked:
    """What is asked for on an unpowered card: Ω, or V in diode mode."""
    most = _MOST[unit]
    return Asked(unit, most, most, _MODES[unit], _EXAMPLES[unit], AskedTerm.AGAIN_AT_REST())


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
        raise BadInput(QuantityRefusal.NONE_GIVEN(example=asked.example))
    if cleaned.lower() in _OPEN:
        return Quantity(None, asked.unit, 0.0)
    if cleaned.lower().rstrip("!.") in _UNSTABLE or _RANGE.match(cleaned):
        raise BadInput(QuantityRefusal.NOT_SETTLED(text=text, again=asked.again))
    found = _SHAPE.match(without_code(cleaned, text))
    if not found:
        raise BadInput(QuantityRefusal.NO_VALUE(text=text, example=asked.example))
    value = _number(found["number"], text)
    stated = found["unit"] or (found["pm_unit"] if found["pm_unit"] not in (None, "%") else "")
    unit, factor = unit_of(stated, text) if stated else (asked.unit, 1.0)
    if unit != asked.unit:
        raise BadInput(QuantityRefusal.OTHER_UNIT(text=text, unit=unit, mode=asked.mode))
    if not stated and unit == VOLT and value > asked.plain_most:
        raise BadInput(QuantityRefusal.VOLT_OR_MILLIVOLT(text=text))
    value *= factor
    if value < 0.0 or math.copysign(1.0, value) < 0.0:
        raise BadInput(QuantityRefusal.NEGATIVE(text=text, again=asked.again))
    if value > asked.most:
        raise BadInput(QuantityRefusal.TOO_MUCH(text=text, most=asked.most, unit=unit))
    if found["below"]:
        return _below(value, unit, found, text)
    if found["pm"] is None:
        return Quantity(value, unit, (meter or Meter()).uncertainty(value, unit))
    return Quantity(value, unit, _stated(found, unit, value, factor, text))


def _below(most: float, unit: str, found: re.Match[str], text: str) -> Quantity:
    """Anything from nothing to that much is as likely: its middle, half of it either way."""
    if most == 0.0 or found["pm"] is not None:
        raise BadInput(QuantityRefusal.NO_BOUND(text=text))
    return Quantity(most / 2.0, unit, most / 2.0)


def _stated(
    found: re.Match[str], unit: str, value: float, factor: float, text: str
) -> float:
    amount, own = _number(found["pm"], text), found["pm_unit"]
    if amount < 0.0:
        raise BadInput(QuantityRefusal.NEGATIVE_UNCERTAINTY(text=text))
    if amount == 0.0:
        raise BadInput(QuantityRefusal.NO_UNCERTAINTY(text=text))
    if own == "%":
        return value * amount / 100.0
    own_unit, own_factor = unit_of(own, text) if own else (unit, factor)
    if own_unit != unit:
        raise BadInput(QuantityRefusal.TWO_UNITS(text=text))
    return amount * own_factor


def _number(text: str, whole: str) -> float:
    if re.search(r",\d{3}$", text) and not text.startswith(("0,", ",")):
        raise BadInput(QuantityRefusal.COMMA(text=whole))
    value = float(text.replace(",", "."))
    if not math.isfinite(value):
        raise BadInput(QuantityRefusal.TOO_LARGE(text=whole))
    if value == 0.0 and re.search("[1-9]", re.split("[eE]", text)[0]):
        raise BadInput(QuantityRefusal.TOO_SMALL(text=whole))
    return value


def parse_meter(text: str) -> Meter:
    """A meter's accuracy such as ``0.8%+0.2`` (per cent of reading + Ω); raises BadInput."""
    found = re.match(r"^\s*([\d.]+)\s*%\s*(?:\+\s*([\d.]+)\s*)?$", text)
    try:
        if not found:
            raise ValueError
        pct, fixed = float(found[1]), float(found[2] or 0.0)
    except ValueError:
        raise BadInput(QuantityRefusal.NO_ACCURACY(text=text)) from None
    if pct == 0.0 and fixed == 0.0:
        raise BadInput(QuantityRefusal.PERFECT_METER(text=text))
    return Meter(pct, fixed, min(fixed, 0.003))
