"""Plain titles: what a reading, a sensor or a fact is called on paper.

One table for the names that need care; every other name is made readable by rule, so that a new
reading never reaches the customer as ``pcie_crc_errors_count``.
"""

from __future__ import annotations

import re

TITLES: dict[str, str] = {
    # enumeration
    "cards_found": "Cards found on the bench",
    "vendor_id": "Maker's number",
    "device_id": "Model number",
    "subsystem_id": "Board number",
    "subsystem_vendor_id": "Board maker's number",
    "class_code": "Kind of device",
    "memory_gib": "Memory size",
    "memory_bytes": "Memory size",
    "bars": "Address windows",
    "driver": "Driver in use",
    "driver_version": "Driver version",
    "firmware_version": "Firmware version",
    "card_name": "Card name",
    "identity_holds": "Identity read a second way",
    "revision": "Revision",
    "name": "Card name",
    "vendor_name": "Card maker",
    "serial": "Serial number",
    "uuid": "Unique number",
    # link
    "link_width_idle_lanes": "Link width, idle",
    "link_speed_idle_gts": "Link speed, idle",
    "link_width_lanes": "Link width, under traffic",
    "link_speed_gts": "Link speed, under traffic",
    "full_link_shown": "Full link of the card shown in this slot",
    "new_link_errors": "New errors on the link",
    "copy_wrong_words": "Copied words that arrived wrong",
    "copy_to_card_gbs": "Copy rate to the card",
    "copy_to_host_gbs": "Copy rate from the card",
    "copy_share_of_payload_limit": "Copy rate, share of what the link can carry",
    # display
    "outputs_found": "Screen outputs found",
    "screen_detected": "Screen noticed",
    "edid": "Screen's own description (EDID)",
    "preferred_mode": "Mode that the screen prefers",
    # memory
    "failing_words": "Memory words that read back wrong",
    "failing_addresses": "Where memory read back wrong",
    "flipped_bits": "Bits that read back wrong",
    "tested_gib": "Memory that was tested",
    "share_of_all_tested": "Share of all memory that was tested",
    "share_of_free_tested": "Share of free memory that was tested",
    # compute
    "results_that_changed": "Results that changed when repeated",
    "results_compared": "Results compared",
    "compute_repeats": "Repeats of the computation",
    # thermal ramp
    "gpu_temp_max_c": "GPU temperature, highest",
    "hotspot_temp_max_c": "Hot-spot temperature, highest",
    "memory_temp_max_c": "Memory temperature, highest",
    "hotspot_delta_max_k": "Hot spot above GPU, most",
    "gpu_rise_k": "GPU temperature rise over the start",
    "gpu_rate_max_k_per_s": "Fastest temperature rise",
    "power_w": "Power",
    "heat_given_j": "Heat given to the card",
    "drift_k": "Temperature change in the last minute",
    "thermal_resistance_k_per_w": "Thermal resistance",
    "slowed_for_heat": "Slowed itself down for heat",
    "power_held_w": "Power held",
    "cooling_state": "State of the cooling",
    "cooling_sure_pct": "How sure that state is",
    "cooling_steady": "Temperature at rest when the load ended",
    "rise_at_rated_k": "Rise over the idle card at rated power, at rest",
    "die_to_block_k_per_w": "Thermal resistance, die to block (the mount)",
    "block_to_coolant_k_per_w": "Thermal resistance, block to coolant",
    "block_to_room_k_per_w": "Thermal resistance, block to room",
    "block_to_fins_k_per_w": "Thermal resistance, block to fins",
    "fins_to_air_k_per_w": "Thermal resistance, fins to air",
    "coolant_to_room_k_per_w": "Thermal resistance, coolant to room",
    "die_to_hotspot_k_per_w": "Thermal resistance, die to hot spot",
    "block_capacity_j_per_k": "Heat that the block takes up",
    "coolant_capacity_j_per_k": "Heat that the coolant takes up",
    "fins_capacity_j_per_k": "Heat that the fins take up",
    # cold starts
    "cold_starts": "Cold starts at which the link was judged",
    "failed_starts": "Starts at which the link failed",
    "hung_starts": "Starts that ended in a crash or hang",
    # sensors
    "gpu_temp_c": "GPU temperature",
    "hotspot_temp_c": "Hot-spot temperature",
    "memory_temp_c": "Memory temperature",
    "energy_j": "Energy counter",
    "core_clock_mhz": "Core clock",
    "memory_clock_mhz": "Memory clock",
    "busy_pct": "Share of time busy",
    "fan_rpm": "Fan speed",
    "fan_pct": "Fan setting",
    "present": "Whether the card answers",
    # guards
    "gpu_temp_limit_c": "GPU temperature below",
    "hotspot_temp_limit_c": "Hot-spot temperature below",
    "memory_temp_limit_c": "Memory temperature below",
    "temp_rate_limit_c_per_s": "Temperature rise up to",
    "hotspot_delta_limit_k": "Hot spot above GPU up to",
    "power_limit_w": "Power up to",
}
"""By name; a name such as ``edid DP-1`` is looked up by its first word."""

KEY_WORDS = (
    "temp",
    "hotspot",
    "power",
    "link_",
    "failing",
    "changed",
    "thermal",
    "cooling",
    "block",
    "error",
    "tested",
)
"""A reading whose name holds one of these goes first onto a page that is short of room."""

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

    >>> title_of("link_width_idle_lanes", unit=True)
    'Link width, idle (lanes)'
    >>> title_of("new_errors_DP-1_pcie_crc")
    'New errors DP-1 PCIe CRC'
    >>> title_of("edid DP-1")
    "Screen's own description (EDID), DP-1"
    """
    base, _, rest = name.partition(" ")
    title = TITLES.get(base) or _made_readable(without_unit(base)) or base
    if rest:
        title += f", {rest.replace('_', ' ')}"
    found = unit_of(base)
    if unit and found and found != "bytes":
        return f"{title} ({found})"
    return title


def is_key(name: str) -> bool:
    """Whether a reading goes first onto a page that is short of room.

    The sum of all failing words does; how many of them each pattern found does not. So does the
    top power, but not the steps to it.
    """
    minor = ("failing_words ", "screen_lost_times", "preferred_mode", "power_held_w step")
    if name.startswith(minor):
        return False
    return any(word in name.lower() for word in KEY_WORDS)


def _made_readable(name: str) -> str:
    words = [word for word in re.split(r"[_\s.:/]+", name) if word]
    shown = [_ACRONYMS.get(word, word) for word in words]
    sentence = " ".join(shown)
    return sentence[:1].upper() + sentence[1:]
