"""The licence of a package, as its own metadata tell it.

Looked for in this order: ``License-Expression`` (PEP 639), a ``License`` field that is an SPDX
expression, one classifier that names one licence, the text of its licence file, whatever else the
field or a classifier says. What none of them tells is unknown, and is named so.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from importlib.metadata import Distribution

from packaging.licenses import InvalidLicenseExpression, canonicalize_license_expression

CLASSIFIERS = {
    "MIT License": "MIT",
    "MIT No Attribution License (MIT-0)": "MIT-0",
    "ISC License (ISCL)": "ISC",
    "Mozilla Public License 2.0 (MPL 2.0)": "MPL-2.0",
    "GNU General Public License v2 (GPLv2)": "GPL-2.0-only",
    "GNU General Public License v2 or later (GPLv2+)": "GPL-2.0-or-later",
    "GNU General Public License v3 (GPLv3)": "GPL-3.0-only",
    "GNU General Public License v3 or later (GPLv3+)": "GPL-3.0-or-later",
    "GNU Lesser General Public License v3 (LGPLv3)": "LGPL-3.0-only",
    "GNU Lesser General Public License v3 or later (LGPLv3+)": "LGPL-3.0-or-later",
    "GNU Affero General Public License v3": "AGPL-3.0-only",
    "GNU Affero General Public License v3 or later (AGPLv3+)": "AGPL-3.0-or-later",
}
"""Classifiers that name exactly one licence, as SPDX names it; "BSD License" names several."""

_REDISTRIBUTION = r"redistribution and use in source and binary forms"
_NO_ENDORSEMENT = r"\b(?:neither the names? of|the names? of (?:the|its) .{0,80}may not be used)\b"
TEXTS: tuple[tuple[str, str], ...] = (
    ("AGPL-3.0", r"gnu affero general public license\W+version 3"),
    ("LGPL-3.0", r"gnu lesser general public license\W+version 3"),
    ("GPL-3.0", r"gnu general public license\W+version 3"),
    ("GPL-2.0", r"gnu general public license\W+version 2"),
    ("MPL-2.0", r"mozilla public license,? version 2\.0"),
    ("Apache-2.0", r"apache license\W+version 2\.0"),
    ("BSD-3-Clause", rf"{_REDISTRIBUTION}.*{_NO_ENDORSEMENT}"),
    ("BSD-2-Clause", _REDISTRIBUTION),
    ("MIT", r"permission is hereby granted, free of charge.*to deal in the software without"),
)
"""What a licence file says, and its SPDX name; the first that fits. Wording from the licences."""
_MOST_OF_A_TEXT = 200_000
_MOST_SHOWN = 60


class LicenceFrom(StrEnum):
    """Where a licence was read."""

    EXPRESSION = "expression"
    FIELD = "field"
    CLASSIFIER = "classifier"
    TEXT = "text"
    NOWHERE = "nowhere"


@dataclass(frozen=True)
class Licence:
    """A licence: an SPDX expression where `spdx`, else in the package's own words; empty: none."""

    text: str
    spdx: bool
    source: LicenceFrom


UNKNOWN = Licence("", False, LicenceFrom.NOWHERE)


def licence_of(package: Distribution) -> Licence:
    """The licence of an installed package."""
    told = _told(package, "License-Expression")
    if (expression := spdx(told)) is not None:
        return Licence(expression, True, LicenceFrom.EXPRESSION)
    field = _told(package, "License")
    if (expression := spdx(field)) is not None:
        return Licence(expression, True, LicenceFrom.FIELD)
    named = [
        name.rpartition(" :: ")[2]
        for name in package.metadata.get_all("Classifier") or []
        if name.startswith("License :: ") and name != "License :: OSI Approved"
    ]
    listed = [name for name in named if name != "DFSG approved"]
    if len(listed) == 1 and listed[0] in CLASSIFIERS:
        return Licence(CLASSIFIERS[listed[0]], True, LicenceFrom.CLASSIFIER)
    found = tuple(dict.fromkeys(filter(None, map(recognised, _texts(package)))))
    if len(found) == 1:
        return Licence(found[0], True, LicenceFrom.TEXT)
    if listed:
        return Licence("; ".join(listed), False, LicenceFrom.CLASSIFIER)
    if field and field.upper() != "UNKNOWN":
        return Licence(field.splitlines()[0][:_MOST_SHOWN], False, LicenceFrom.FIELD)
    return UNKNOWN


def spdx(text: str) -> str | None:
    """A text as the SPDX expression that it is; None where it is none.

    >>> spdx("apache-2.0 or BSD-3-Clause"), spdx("BSD"), spdx("")
    ('Apache-2.0 OR BSD-3-Clause', None, None)
    """
    if not text or len(text) > _MOST_OF_A_TEXT or "\n" in text:
        return None
    try:
        return str(canonicalize_license_expression(text))
    except InvalidLicenseExpression:
        return None


def recognised(text: str) -> str | None:
    """The SPDX name of a licence whose text this is; None where it is none of those known here."""
    flat = " ".join(re.sub(r"[*#>\"'`]", " ", text.lower()).split())
    for name, words in TEXTS:
        if re.search(words, flat):
            return f"{name}-only" if name.startswith(("GPL", "LGPL", "AGPL")) else name
    return None


def _told(package: Distribution, field: str) -> str:
    """A field of its metadata; empty where there is none."""
    return str((package.metadata.get_all(field) or [""])[0]).strip()


def _texts(package: Distribution) -> Iterator[str]:
    """The texts of the licence files that lie beside its metadata."""
    for name in package.metadata.get_all("License-File") or []:
        for place in (f"licenses/{name}", name):
            text = package.read_text(place)
            if text:
                yield text[:_MOST_OF_A_TEXT]
                break
