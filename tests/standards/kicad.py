"""Pins and pads out of KiCad's published libraries, by plain search of their text."""

from __future__ import annotations

import re
from pathlib import Path

SYMBOLS = "/usr/share/kicad/symbols/Connector.kicad_sym"
"""Debian package kicad-symbols."""
FOOTPRINTS = "/usr/share/kicad/footprints/Connector_PCBEdge.pretty"
"""Debian package kicad-footprints."""

_PIN = re.compile(r'\(pin (\w+) \w+ .*?\(name "([^"]*)".*?\(number "([^"]*)"', re.DOTALL)
_PAD = re.compile(r'\(pad "?(\w+)"? .*?\(at (\S+) (\S+?)\) \(size (\S+) (\S+?)\)')


def symbol_pins(library: Path, symbol: str) -> dict[str, tuple[str, str]]:
    """Name and electrical type of each pin of a symbol, by pin number."""
    text = library.read_text(encoding="utf-8")
    start = text.index(f'\n  (symbol "{symbol}" ')
    end = text.find("\n  (symbol ", start + 1)
    return {number: (name, kind) for kind, name, number in _PIN.findall(text[start:end])}


def pads(footprint: Path) -> dict[str, tuple[float, float, float, float]]:
    """Middle x, y and width, height of each pad in mm."""
    found = _PAD.findall(footprint.read_text(encoding="utf-8"))
    return {name: (float(x), float(y), float(w), float(h)) for name, x, y, w, h in found}
