"""Plain titles: what a reading, a sensor or a fact is called on paper.

One table for the names that need care; every other name is made readable by rule, so that a new
reading never reaches the customer as ``pcie_crc_errors_count``.
"""

from __future__ import annotations

import re

TITLES: dict[str, str] = {
    "vendor_id": "Maker's number",
    "device_id": "Model number",
    "subsystem_id": "Board number",
    "class_code": "Kind of device",
    "memory_bytes": "Memory size",
    "memory_gib": "Memory size",
    "firmware_version": "Firmware version",
    "driver": "Driver in use",
    "driver_version": "Driver version",
    "cards_found": "Cards found on the bench",
    "link_width_lanes": "Link width",
    "link_width_idle_lanes": "Link width, idle",
    "link_width_load_lanes": "Link width, under load",
    "link_speed_gts": "Link speed",
    "link_speed_idle_gts": "Link speed, idle",
    "link_speed_load_gts": "Link speed, under load",
    "failing_words": "Memory words that read back wrong",
    "mismatches": "Results that differed",
    "share_of_all_tested": "Share of all memory that was tested",
    "share_of_free_tested": "Share of free memory that was tested",
    "gpu_temp_c": "GPU temperature",
    "gpu_temp_max_c": "GPU temperature, highest",
    "gpu_temp_start_c": "GPU temperature at the start",
    "hotspot_temp_c": "Hot-spot temperature",
    "hotspot_temp_max_c": "Hot-spot temperature, highest",
    "hotspot_delta_max_k": "Hot spot over GPU, highest",
    "memory_temp_c": "Memory temperature",
    "memory_temp_max_c": "Memory temperature, highest",
    "gpu_temp_rise_k": "GPU temperature rise",
    "gpu_temp_rate_max_k_per_s": "Fastest temperature rise",
    "thermal_resistance_k_per_w": "Thermal resistance",
    "power_w": "Power",
    "power_max_w": "Power, highest",
    "energy_j": "Energy",
    "core_clock_mhz": "Core clock",
    "memory_clock_mhz": "Memory clock",
    "busy_pct": "Share of time busy",
    "fan_rpm": "Fan speed",
    "fan_pct": "Fan setting",
    "throttle_reasons": "Reasons for slowing down",
    "subsystem_vendor_id": "Board maker's number",
    "revision": "Revision",
    "name": "Card name",
    "vendor_name": "Card maker",
    "serial": "Serial number",
    "uuid": "Unique number",
    "bars": "Address windows",
    "load_w": "Power asked for",
    "load_share": "Share of full load asked for",
}

KEY_WORDS = ("temp", "hotspot", "power", "link_", "failing", "mismatch", "thermal", "error", "tested")
"""A reading whose name holds one of these goes first onto a page that is short of room."""

UNIT_SUFFIXES: tuple[tuple[str, str], ...] = (
    ("_k_per_w", "K/W"),
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

_ACRONYMS = {
    "gpu": "GPU",
    "pci": "PCI",
    "pcie": "PCIe",
    "edid": "EDID",
    "bar": "BAR",
    "bars": "BARs",
    "id": "ID",
    "ids": "IDs",
    "crc": "CRC",
    "lcrc": "LCRC",
    "tlp": "TLP",
    "dllp": "DLLP",
    "uuid": "UUID",
    "hdmi": "HDMI",
    "dp": "DP",
    "dvi": "DVI",
    "hotspot": "hot-spot",
    "temp": "temperature",
    "max": "highest",
    "min": "lowest",
}


def unit_of(name: str) -> str:
    """The unit that a name carries as its suffix, empty if none."""
    return next((unit for suffix, unit in UNIT_SUFFIXES if name.endswith(suffix)), "")


def without_unit(name: str) -> str:
    """The name without its unit's suffix."""
    suffix = next((s for s, _ in UNIT_SUFFIXES if name.endswith(s)), "")
    return name.removesuffix(suffix) if suffix else name


def title_of(name: str, *, unit: bool = False) -> str:
    """Plain title of a reading or sensor; with `unit`, its unit follows in brackets.

    >>> title_of("link_width_lanes", unit=True)
    'Link width (lanes)'
    >>> title_of("new_errors_DP-1_pcie_crc")
    'New errors DP-1 PCIe CRC'
    """
    title = TITLES.get(name) or _made_readable(without_unit(name)) or name
    found = unit_of(name)
    if unit and found and found != "bytes":
        return f"{title} ({found})"
    return title


def is_key(name: str) -> bool:
    """Whether a reading goes first onto a page that is short of room."""
    return any(word in name.lower() for word in KEY_WORDS)


def _made_readable(name: str) -> str:
    words = [word for word in re.split(r"[_\s.:/]+", name) if word]
    shown = [_ACRONYMS.get(word, word) for word in words]
    sentence = " ".join(shown)
    return sentence[:1].upper() + sentence[1:]
