"""Whether a licence asks that what is made with it be given on under the same terms.

Which licences do: the families that their own texts call copyleft or share-alike (from memory; a
lawyer's word goes before this list).
"""

from __future__ import annotations

import re

from burnin.cli.packages.licences import Licence

FAMILIES = (
    *("GPL-", "LGPL-", "AGPL-", "MPL-", "EPL-", "EUPL-", "CDDL-", "OSL-", "CPL-", "CECILL-"),
    *("CC-BY-SA-", "CC-BY-NC-SA-", "SSPL-", "MS-RL", "QPL-", "Sleepycat", "ODbL-", "IPL-", "NPL-"),
)
"""Beginnings of SPDX names."""
_IN_WORDS = re.compile(
    r"\b(?:A?L?GPL|GNU|Affero|copyleft|share.?alike|Mozilla Public|MPL|Eclipse Public|EUPL|CDDL)",
    re.IGNORECASE,
)
_PARTS = re.compile(r"\(|\)|\bAND\b|\bOR\b|[^\s()]+(?:\s+WITH\s+\S+)?")


def is_copyleft(licence: Licence) -> bool:
    """Whether it must be kept; a choice of several counts as the mildest of them."""
    if licence.spdx:
        parts = _PARTS.findall(licence.text)
        return _either(parts)
    return _IN_WORDS.search(licence.text) is not None


def _either(parts: list[str]) -> bool:
    """``A OR B OR …``; takes what it reads from the front."""
    found = _all(parts)
    while parts and parts[0] == "OR":
        parts.pop(0)
        found = _all(parts) and found
    return found


def _all(parts: list[str]) -> bool:
    """``A AND B AND …``, which binds more closely."""
    found = _one(parts)
    while parts and parts[0] == "AND":
        parts.pop(0)
        found = _one(parts) or found
    return found


def _one(parts: list[str]) -> bool:
    first = parts.pop(0)
    if first != "(":
        return first.startswith(FAMILIES)
    found = _either(parts)
    if parts:
        parts.pop(0)
    return found
