"""The unit that a reading's name carries as its suffix, and units as they are printed."""

from __future__ import annotations

UNIT_SUFFIXES: tuple[tuple[str, str], ...] = (
    ("_k_per_w", "K/W"),
    ("_j_per_k", "J/K"),
    ("_k_per_s", "K/s"),
    ("_c_per_s", "°C/s"),
    ("_bytes", "bytes"),
    ("_count", ""),
    ("_lanes", "lanes"),
    ("_mhz", "MHz"),
    ("_rpm", "rpm"),
    ("_pct", "%"),
    ("_gts", "GT/s"),
    ("_gbs", "GB/s"),
    ("_gib", "GiB"),
    ("_ohm", "Ω"),
    ("_mv", "mV"),
    ("_ms", "ms"),
    ("_c", "°C"),
    ("_k", "K"),
    ("_w", "W"),
    ("_j", "J"),
    ("_v", "V"),
    ("_s", "s"),
)
_SHORT = {"c": "°C", "degc": "°C", "ohm": "Ω", "lane": "lanes", "count": "", "1": ""}


def unit_of(name: str) -> str:
    """The unit that a name carries as its suffix, empty if none."""
    return next((unit for suffix, unit in UNIT_SUFFIXES if name.endswith(suffix)), "")


def without_unit(name: str) -> str:
    """The name without its unit's suffix."""
    suffix = next((s for s, _ in UNIT_SUFFIXES if name.endswith(s)), "")
    return name.removesuffix(suffix) if suffix else name


def usual_unit(unit: str) -> str:
    """A unit as it is usually written: ``°C`` for ``degC``, nothing for a count."""
    return _SHORT.get(unit.strip().lower(), unit.strip())
