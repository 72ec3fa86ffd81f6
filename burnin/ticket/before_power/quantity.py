"""What a meter shows, read from text: number, unit, uncertainty; or open circuit."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from burnin.core.errors import BadInput
from burnin.core.meaning import Term
from burnin.ticket.before_power.meanings import QuantityTerm

OHM, VOLT = "Ω", "V"
_UNITS: dict[str, tuple[str, float]] = {
    "Ω": (OHM, 1.0),
    "ohm": (OHM, 1.0),
    "ohms": (OHM, 1.0),
    "R": (OHM, 1.0),
    "mΩ": (OHM, 1e-3),
    "mohm": (OHM, 1e-3),
    "kΩ": (OHM, 1e3),
    "kohm": (OHM, 1e3),
    "KΩ": (OHM, 1e3),
    "k": (OHM, 1e3),
    "MΩ": (OHM, 1e6),
    "Mohm": (OHM, 1e6),
    "M": (OHM, 1e6),
    "V": (VOLT, 1.0),
    "Vd": (VOLT, 1.0),
    "mV": (VOLT, 1e-3),
}
_OPEN = ("ol", "o.l", "o.l.", "open", "over")
_NUMBER = r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?"
_SHAPE = re.compile(
    rf"^(?P<number>{_NUMBER})\s*(?P<unit>[^\d\s±.,+-]*)\s*"
    rf"(?:(?:±|\+/-|\+-)\s*(?P<pm>{_NUMBER})\s*(?P<pm_unit>%|[^\d\s±.,+-]*))?$"
)
_UNSTABLE = (
    *("unstable", "unsettled", "rising", "falling", "drifting", "drifts", "jumps"),
    *("instabil", "unruhig", "steigt", "fällt", "schwankt", "springt"),
)
"""Words for a reading that does not stand still."""
_RANGE = re.compile(rf"^{_NUMBER}\s*[^\d\s]*\s*(?:\.\.+|…|–|\bto\b|\bbis\b)\s*{_NUMBER}")
_AGAIN = (
    "Measure again: black lead on ground, then the leads swapped; if it stays so, a capacitor still"
    " holds charge: leave the card unplugged for some minutes, let it discharge through a resistor,"
    " never by a screwdriver"
)
_MOST = {OHM: 1e9, VOLT: 5.0}
"""More than any meter of the bench shows in these modes; common practice, no source."""


@dataclass(frozen=True)
class Meter:
    """A meter's accuracy as its data sheet gives it: per cent of reading plus a fixed part.

    `fixed_ohm`, `fixed_v`: the part in digits, in Ω and V. The defaults suit a plain bench meter
    (common practice, no source).
    """

    pct: float = 1.0
    fixed_ohm: float = 0.05
    fixed_v: float = 0.003

    def uncertainty(self, value: float, unit: str) -> float:
        """Expanded uncertainty (k = 2): the accuracy is the half width of a rectangle.

        Its standard deviation is half width/√3 (JCGM 100:2008, 4.3.7).
        """
        fixed = self.fixed_ohm if unit == OHM else self.fixed_v
        return 2.0 * (abs(value) * self.pct / 100.0 + fixed) / math.sqrt(3.0)


@dataclass(frozen=True)
class Quantity:
    """A value in Ω or V with its expanded uncertainty; `value` None: open, over the range."""

    value: float | None
    unit: str
    uncertainty: float


def parse_quantity(text: str, want: str, meter: Meter | None = None) -> Quantity:
    """What a meter shows, such as ``38 Ω``, ``4.7kohm``, ``0.452 V``, ``OL``, ``38±0.5 Ω``.

    `want` is the unit that the measuring point has, Ω or V (diode mode). Raises BadInput that
    says what is wrong.
    """
    cleaned = text.strip().replace("Ω", "Ω").replace("µ", "u").replace("\u2212", "-")
    if not cleaned:
        raise BadInput(f"no value given; type what the meter shows, such as {_example(want)}")
    if cleaned.lower() in _OPEN:
        return Quantity(None, want, 0.0)
    if cleaned.lower().rstrip("!.") in _UNSTABLE or _RANGE.match(cleaned):
        raise BadInput(f"{text[:40]!r} does not settle, and is no value. {_AGAIN}")
    found = _SHAPE.match(cleaned)
    if not found:
        raise BadInput(f"{text[:40]!r} is not a value with a unit, such as {_example(want)}")
    value = _float(found["number"], text)
    unit, factor = _unit(found["unit"], text, want)
    if unit != want:
        mode = "resistance in Ω" if want == OHM else "diode mode in V"
        raise BadInput(f"{text[:40]!r} is in {unit}, but this point is measured as {mode}")
    value *= factor
    if value < 0.0 or math.copysign(1.0, value) < 0.0:
        raise BadInput(f"{text[:40]!r} is negative, which no part reads. {_AGAIN}")
    if value > _MOST[unit]:
        raise BadInput(
            f"{text[:40]!r} is more than a meter shows here ({_MOST[unit]:g} {unit}); over the"
            " range is OL"
        )
    if found["pm"] is None:
        return Quantity(value, unit, (meter or Meter()).uncertainty(value, unit))
    return Quantity(value, unit, _stated(found, value, factor, text))


def _stated(found: re.Match[str], value: float, factor: float, text: str) -> float:
    amount, unit = _float(found["pm"], text), found["pm_unit"]
    if amount < 0.0:
        raise BadInput(f"{text[:40]!r}: an uncertainty is not negative")
    if amount == 0.0:
        raise BadInput(f"{text[:40]!r}: no meter is perfect; give the accuracy of its data sheet")
    if unit == "%":
        return value * amount / 100.0
    own_factor = _unit(unit, text, OHM)[1] if unit else factor
    if unit and _unit(unit, text, OHM)[0] != _unit(found["unit"], text, OHM)[0]:
        raise BadInput(f"{text[:40]!r}: value and uncertainty have different units")
    return amount * own_factor


def _float(text: str, whole: str) -> float:
    if re.search(r",\d{3}$", text) and not text.startswith(("0,", ",")):
        raise BadInput(
            f"{whole[:40]!r}: does the comma part thousands or decimals? Write a point for decimals"
        )
    value = float(text.replace(",", "."))
    if not math.isfinite(value):
        raise BadInput(f"{whole[:40]!r} is too large a number")
    return value


def _unit(unit: str, text: str, want: str) -> tuple[str, float]:
    if not unit:
        raise BadInput(f"{text[:40]!r} has no unit; write what the meter shows: {_example(want)}")
    if unit not in _UNITS:
        known = "Ω, kΩ, MΩ (ohm, kohm, Mohm), V, mV"
        raise BadInput(f"{text[:40]!r}: unknown unit {unit!r}; there are {known}")
    return _UNITS[unit]


def _example(want: str) -> str:
    return "38 Ω, 4.7 kΩ or OL" if want == OHM else "0.452 V or OL"


def shown_quantity(value: float | None, unit: str, uncertainty: float = 0.0) -> Term:
    """``4.7 kΩ ± 0.05 kΩ`` as a person writes it; None is over the range."""
    if value is None:
        return QuantityTerm.OVER_RANGE()
    shown, factor = unit, 1.0
    if unit == OHM and value >= 1e6:
        shown, factor = "MΩ", 1e6
    elif unit == OHM and value >= 1e3:
        shown, factor = "kΩ", 1e3
    if not uncertainty:
        return QuantityTerm.EXACT(value=value / factor, unit=shown)
    return QuantityTerm.WITH_UNCERTAINTY(
        value=value / factor, uncertainty=uncertainty / factor, unit=shown
    )


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
