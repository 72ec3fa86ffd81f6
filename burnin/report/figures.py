"""Values as a person reads them: figures, limits, dates, and text that cannot break a page."""

from __future__ import annotations

import math
import unicodedata
from datetime import UTC, datetime

from burnin.record.reader import ReadingRow

_MONTHS = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
]
_SHORT_UNITS = {"c": "°C", "degc": "°C", "ohm": "Ω", "lane": "lanes", "count": "", "1": ""}
_MANY_BYTES = 1 << 20
_BREAKS = "\t\r\n\u2028\u2029"
_OVERRIDES = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"


def plain(value: str, most: int = 160) -> str:
    """One line of text without control characters, shortened to `most` characters.

    Directional overrides go as well: they could make a line read as something that it is not.
    """
    whole = value.encode("utf-8", "replace").decode("utf-8")
    kept = "".join(" " if c in _BREAKS else c for c in whole if c in _BREAKS or _printable(c))
    line = " ".join(kept.split())
    return line if len(line) <= most else line[: most - 1].rstrip() + "…"


def figure(value: float, uncertainty: float = 0.0) -> str:
    """A number with as many places as its uncertainty carries, four figures if it has none."""
    if uncertainty > 0.0:
        return f"{value:,.{_places(uncertainty)}f}"
    if value == int(value) and abs(value) < 1e15:
        return f"{int(value):,}"
    return f"{value:,.0f}" if abs(value) >= 1000.0 else f"{value:.4g}"


def uncertainty_text(uncertainty: float) -> str:
    """An uncertainty rounded up to one figure, or two where the first is 1 or 2.

    JCGM 100:2008, 7.2.6: at most two figures, and rounding up may be appropriate.
    """
    places = _places(uncertainty)
    step = 10.0**places
    return f"{math.ceil(uncertainty * step - 1e-9) / step:,.{places}f}"


def unit_text(unit: str) -> str:
    """The unit as printed."""
    return _SHORT_UNITS.get(unit.strip().lower(), unit.strip())


def with_unit(number: str, unit: str) -> str:
    """A figure and its unit, joined so that a line break cannot part them."""
    shown = unit_text(unit)
    return f"{number}\u00a0{shown}" if shown else number


def value_text(row: ReadingRow) -> str:
    """A reading's value with its uncertainty and unit; bytes in GiB or MiB when many."""
    if row.number is None or _is_word(row):
        return plain(row.value, 80)
    if row.unit == "bytes" and row.number >= _MANY_BYTES:
        return bytes_text(row.number)
    number = figure(row.number, row.uncertainty)
    if row.uncertainty > 0.0:
        number += f"\u00a0±\u00a0{uncertainty_text(row.uncertainty)}"
    return with_unit(number, row.unit)


def limit_text(row: ReadingRow) -> str:
    """What was allowed, empty for a value that nothing judges."""
    if row.allowed:
        return plain(row.allowed.replace("|", " or "), 80)
    lower, upper = row.lower, row.upper
    if lower is None and upper is None:
        return ""
    if lower is not None and lower == upper:
        return with_unit(f"=\u00a0{_bound(lower, row.unit)}", _bound_unit(lower, row.unit))
    parts = []
    if lower is not None:
        parts.append(with_unit(f"≥\u00a0{_bound(lower, row.unit)}", _bound_unit(lower, row.unit)))
    if upper is not None:
        parts.append(with_unit(f"≤\u00a0{_bound(upper, row.unit)}", _bound_unit(upper, row.unit)))
    return " and ".join(parts)


def bytes_text(count: float) -> str:
    """Bytes as GiB (2^30) or MiB (2^20)."""
    gib = count / (1 << 30)
    return f"{gib:.4g}\u00a0GiB" if gib >= 1.0 else f"{count / (1 << 20):.4g}\u00a0MiB"


def moment(iso_text: str) -> datetime | None:
    """A UTC ISO-8601 moment, None for anything else."""
    try:
        found = datetime.fromisoformat(iso_text.replace("Z", "+00:00"))
    except ValueError:
        return None
    return found.replace(tzinfo=UTC) if found.tzinfo is None else found.astimezone(UTC)


def moment_text(iso_text: str) -> str:
    """A moment as ``2 March 2026, 09:15 UTC``; what is not a moment stays as it is."""
    found = moment(iso_text)
    if found is None:
        return plain(iso_text, 40)
    return f"{found.day} {_MONTHS[found.month - 1]} {found.year}, {found:%H:%M} UTC"


def duration_text(seconds: float) -> str:
    """Seconds as ``9 min 42 s`` or ``1 h 05 min``."""
    whole = round(max(0.0, seconds))
    if whole < 60:
        return f"{whole} s"
    minutes, rest = divmod(whole, 60)
    if minutes < 60:
        return f"{minutes} min {rest:02d} s"
    hours, minutes = divmod(minutes, 60)
    return f"{hours} h {minutes:02d} min"


def _printable(character: str) -> bool:
    noncharacter = ord(character) & 0xFFFE == 0xFFFE
    control = unicodedata.category(character) in ("Cc", "Cs")
    return not (noncharacter or control or character in _OVERRIDES)


def _places(uncertainty: float) -> int:
    """Decimal places that an uncertainty (over 0) carries."""
    exponent = math.floor(math.log10(uncertainty))
    leading = uncertainty / 10.0**exponent
    return max(0, min(9, -exponent + (1 if leading < 3.0 else 0)))


def _is_word(row: ReadingRow) -> bool:
    """Whether a value that looks like a number is a name (``0010``, ``1e5`` among words)."""
    return bool(row.allowed) and row.lower is None and row.upper is None


def _bound(value: float, unit: str) -> str:
    many = unit == "bytes" and value >= _MANY_BYTES
    return bytes_text(value) if many else figure(value)


def _bound_unit(value: float, unit: str) -> str:
    return "" if unit == "bytes" and value >= _MANY_BYTES else unit
