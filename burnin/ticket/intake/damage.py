"""What is seen on a card: where (contact, range of contacts, area) and what kind of damage."""

from __future__ import annotations

import re

from burnin.core.errors import BadInput
from burnin.ticket.intake.refusals import IntakeRefusal

KINDS = ("missing", "lifted", "bent", "crack", "mark", "burn", "liquid", "part")
"""Short words for what is seen; a sheet has the plain ones in each language."""
AREAS = (
    "edge",
    "bracket",
    "board",
    "power",
    "outputs",
    "cooler",
    "fan",
    "core",
    "memory",
    "back",
)
"""Short words for where."""
_ALSO = {
    "torn": "missing", "ripped": "missing", "gone": "missing", "ripped off": "missing",
    "ab": "missing", "loose": "lifted", "lose": "lifted", "bend": "bent", "broken": "crack",
    "gebrochen": "crack", "wet": "liquid",
    "fehlt": "missing", "fehlen": "missing", "abgerissen": "missing", "torn off": "missing",
    "abgehoben": "lifted", "verbogen": "bent", "riss": "crack", "gerissen": "crack",
    "cracked": "crack", "spur": "mark", "kratzer": "mark", "scratch": "mark",
    "verbrannt": "burn", "burnt": "burn", "nass": "liquid", "bauteil": "part",
}  # fmt: skip
_AREAS_ALSO = {
    "kante": "edge", "slotblech": "bracket", "blech": "bracket", "platine": "board",
    "strom": "power", "netzstecker": "power", "ausgänge": "outputs", "kühler": "cooler",
    "lüfter": "fan", "kern": "core", "speicher": "memory", "rückseite": "back",
}  # fmt: skip
"""What else is understood; what is kept is the short word."""
_CONTACT = re.compile(r"^([ABab])\s?(\d{1,2})$")


def contact_name(text: str) -> str:
    """A contact of the edge such as ``B14``; raises BadInput for one that does not exist."""
    found = _CONTACT.match(text.strip())
    name = f"{found[1].upper()}{int(found[2])}" if found else ""
    if not found or not 1 <= int(found[2]) <= 82:
        raise BadInput(IntakeRefusal.NO_CONTACT(text=text))
    return name


def contact_names(text: str) -> tuple[str, ...]:
    """Contacts such as ``B14``, ``B14-B17`` or ``B14,B15``; raises BadInput."""
    found: list[str] = []
    for part in re.split(r"[,\s]+", text.strip().replace("–", "-").replace("—", "-")):
        first, dash, last = part.partition("-")
        low = contact_name(first)
        if not dash:
            found.append(low)
            continue
        high = contact_name(last if last[:1].isalpha() else low[0] + last)
        if high[0] != low[0] or int(high[1:]) < int(low[1:]):
            raise BadInput(IntakeRefusal.NO_RANGE(text=part))
        found += [f"{low[0]}{n}" for n in range(int(low[1:]), int(high[1:]) + 1)]
    return tuple(dict.fromkeys(found))


def places(where: str) -> tuple[str, ...]:
    """Contacts or one area; raises BadInput with what there is."""
    area = _AREAS_ALSO.get(where.strip().lower(), where.strip().lower())
    if area in AREAS:
        return (area,)
    if re.match(r"^[ABab]\s?\d", where.strip()):
        return contact_names(where)
    raise BadInput(IntakeRefusal.WHERE(text=where, there=AREAS))


def kind_of(text: str) -> str:
    """A kind of damage by its short word; raises BadInput with the words there are."""
    word = _ALSO.get(text.strip().lower(), text.strip().lower())
    if word in KINDS:
        return word
    raise BadInput(IntakeRefusal.WHAT(text=text, there=KINDS))
