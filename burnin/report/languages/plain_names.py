"""A reading's inner name made readable by rule, where no word file has a title for it.

A new reading thus never reaches the customer as ``pcie_crc_errors_count``.
"""

from __future__ import annotations

import re

from burnin.report.languages.units import without_unit

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


def made_readable(name: str) -> str:
    """A sentence-like title of a name.

    >>> made_readable("pcie_replay_max_ms"), made_readable("new_errors_DP-1_pcie_crc")
    ('PCIe replay highest', 'New errors DP-1 PCIe CRC')
    """
    words = [word for word in re.split(r"[_\s.:/]+", without_unit(name)) if word]
    sentence = " ".join(_ACRONYMS.get(word, word) for word in words)
    return sentence[:1].upper() + sentence[1:] or name
