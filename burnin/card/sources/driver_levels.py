"""The clocks that a driver may choose from, as amdgpu lists them.

``pp_dpm_sclk`` and ``pp_dpm_mclk``: one level a line, ``1: 1249Mhz *``, the one in use marked
(Linux Documentation/gpu/amdgpu/thermal.rst, "pp_dpm_*").
"""

from __future__ import annotations

import re

from burnin.card.attributes import Attributes
from burnin.card.meanings import AttributeReason
from burnin.core.reading import NotMeasured

_LEVEL = re.compile(r"\d+:\s*(\d{1,6})\s*[Mm][Hh]z\s*\*?", re.ASCII)
FILES = {"most_core_clock_mhz": "pp_dpm_sclk", "most_memory_clock_mhz": "pp_dpm_mclk"}
"""Which file tells which value."""


def highest_mhz(attributes: Attributes, name: str) -> float | NotMeasured:
    """The highest level of such a file."""
    text = attributes.text(name)
    if isinstance(text, NotMeasured):
        return text
    levels = [float(m.group(1)) for line in text.splitlines() if (m := _LEVEL.search(line))]
    if not levels:
        return NotMeasured(AttributeReason.NOT_A_NUMBER(name=name, text=text[:24]))
    return max(levels)
