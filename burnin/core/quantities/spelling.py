"""How people spell measured values: signs, prefixes, units, and codes such as ``4k7``.

Prefixes and spaces: SI brochure, 9th edition, 3.1 and 5.4.3; codes: IEC 60062, clause 3 (the letter
stands in place of the point; from memory).
"""

from __future__ import annotations

import re
import unicodedata

from burnin.core.errors import BadInput
from burnin.core.quantities.refusals import QuantityRefusal

OHM, VOLT, CELSIUS = "Ω", "V", "°C"
NUMBER = r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:e[+-]?\d+|E[+-]\d+)?"
_WORD = r"[^\d\s±.,+%<>-]+"
UNIT = rf"(?:{_WORD}(?:[ -]{_WORD})?)?"
_PREFIXES = {
    "": 1.0, "u": 1e-6, "m": 1e-3, "k": 1e3, "K": 1e3, "M": 1e6, "G": 1e9,
    "micro": 1e-6, "milli": 1e-3, "kilo": 1e3, "meg": 1e6, "mega": 1e6, "giga": 1e9,
}  # fmt: skip
_PREFIX = r"(?P<prefix>(?i:micro|milli|kilo|mega|meg|giga)|[umkKMG])?"
_IN_OHM = re.compile(rf"{_PREFIX}[ -]?(?P<unit>Ω|(?i:ohms?)|R|E)?")
_IN_VOLT = re.compile(rf"{_PREFIX}[ -]?(?P<unit>V|v|Vd|Vdc|(?i:volts?))")
_IN_CELSIUS = re.compile(r"(?P<prefix>)(?P<unit>°[Cc]|C|(?i:deg ?C|grad))")
_CODE = re.compile(rf"(\d*)([RrkKMGmEV])(\d+)\s*(?=$|{_WORD}$|[±+])")
_GROUPED = re.compile(r"(?<=\d)[ '\u2019](?=\d{3}(?!\d))")
_LETTERS = {"R": "Ω", "r": "Ω", "V": "V"}


def as_typed(text: str) -> str:
    """The text with one sign for each thing: ohm, micro, minus, spaces; no spaces in numbers."""
    plain = unicodedata.normalize("NFKC", text).strip()
    plain = plain.replace("\u03bc", "u").replace("\u2212", "-")
    return _GROUPED.sub("", plain)


def without_code(cleaned: str, text: str) -> str:
    """``4k7`` as ``4.7 k``; anything else as it is. Raises BadInput for ``4E7``."""
    found = _CODE.match(cleaned)
    if not found:
        return cleaned
    whole, letter, part = found.groups()
    if letter == "E":
        raise BadInput(QuantityRefusal.OHM_OR_EXPONENT(text=text))
    unit = cleaned[found.end():].strip() if letter not in _LETTERS else ""
    rest = cleaned[found.end():] if letter in _LETTERS or unit.startswith(("±", "+")) else unit
    if letter in _LETTERS and re.fullmatch(r"Ω|(?i:ohms?)|V", rest.strip()):
        rest = ""
    return f"{whole or 0}.{part} {_LETTERS.get(letter, letter)}{rest}"


def unit_of(unit: str, text: str) -> tuple[str, float]:
    """Ω, V or °C, and what one of the unit is in it; raises BadInput for any other."""
    for pattern, name in ((_IN_OHM, OHM), (_IN_VOLT, VOLT), (_IN_CELSIUS, CELSIUS)):
        found = pattern.fullmatch(unit)
        # A letter m alone may be milli or a slip for M: nobody can tell.
        if found and unit and unit not in ("m", "u"):
            prefix = found["prefix"] or ""
            return name, _PREFIXES[prefix if len(prefix) <= 1 else prefix.lower()]
    raise BadInput(QuantityRefusal.UNKNOWN_UNIT(text=text, unit=unit))
