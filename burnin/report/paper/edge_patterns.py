"""How the fingers of the edge connector are filled, told apart in black and white."""

from __future__ import annotations

INK = "#1c2326"
PAPER = "#fffefb"
SOFT = "#566064"

HATCHINGS: dict[str, tuple[str, str]] = {
    "ground": ("ground", "ground"),
    "lane_tx": ("lane", "lane, numbered"),
    "lane_rx": ("lane", "lane, numbered"),
    "power_12v": ("volts12", "12 V"),
    "power_3v3": ("volts3", "3.3 V"),
    "power_3v3aux": ("volts3", "3.3 V"),
    "presence_detect": ("presence", "presence"),
    "clock": ("timing", "clock, reset"),
    "reset": ("timing", "clock, reset"),
    "reserved": ("none", "reserved"),
}
OTHER = ("side", "other signals")
PATTERNS = f"""<defs>
<pattern id="edge-ground" width="4" height="4" patternUnits="userSpaceOnUse">\
<rect width="4" height="4" fill="{INK}" fill-opacity=".62"/></pattern>
<pattern id="edge-lane" width="4" height="4" patternUnits="userSpaceOnUse">\
<rect width="4" height="4" fill="{PAPER}"/></pattern>
<pattern id="edge-volts12" width="6" height="6" patternUnits="userSpaceOnUse">\
<rect width="6" height="6" fill="{PAPER}"/>\
<path d="M-1 7 7-1M-1 1 1-1M5 7 7 5" stroke="{INK}" stroke-width="2"/></pattern>
<pattern id="edge-volts3" width="6" height="7" patternUnits="userSpaceOnUse">\
<rect width="6" height="7" fill="{PAPER}"/><path d="M0 3.5h6" stroke="{INK}" stroke-width="2"/>\
</pattern>
<pattern id="edge-presence" width="7" height="8" patternUnits="userSpaceOnUse">\
<rect width="7" height="8" fill="{PAPER}"/><circle cx="3.5" cy="4" r="1.8" fill="{INK}"/></pattern>
<pattern id="edge-timing" width="3.5" height="4" patternUnits="userSpaceOnUse">\
<rect width="3.5" height="4" fill="{PAPER}"/><path d="M1.75 0v4" stroke="{INK}" stroke-width="1"/>\
</pattern>
<pattern id="edge-side" width="8" height="8" patternUnits="userSpaceOnUse">\
<rect width="8" height="8" fill="{PAPER}"/>\
<path d="M-1 4 4 9M0-3 11 8" stroke="{INK}" stroke-width=".9"/></pattern>
</defs>"""
