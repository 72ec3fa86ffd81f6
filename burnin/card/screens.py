"""The screens that a card detects, by output and by the name that each tells of itself."""

from __future__ import annotations

from collections.abc import Sequence

from burnin.card.capabilities import Output
from burnin.card.edid.base_block import parse_edid
from burnin.core.reading import NotMeasured, known

_MOST_NAME = 24


def screens_on(outputs: Sequence[Output] | NotMeasured) -> tuple[str, ...]:
    """Outputs with a screen, each with the screen's own name in brackets where it tells one."""
    found = known(outputs) or ()
    return tuple(_told(one) for one in found if one.status == "connected")


def screen_name(output: Output) -> str:
    """What the screen calls itself (VESA E-EDID, display product name); empty where nothing."""
    edid = known(output.edid)
    name = known(parse_edid(edid).name) if edid else None
    seen = "".join(letter if letter.isprintable() else " " for letter in name or "")
    return " ".join(seen.split())[:_MOST_NAME]


def _told(output: Output) -> str:
    name = screen_name(output)
    return f"{output.name} ({name})" if name else output.name
