"""Damage as somebody types it: ``B14-B17 missing``, ``bent bracket, B14 torn: by the fall``."""

from __future__ import annotations

import re

from burnin.core.errors import BadInput
from burnin.ticket.intake.damage import kind_of, places
from burnin.ticket.intake.refusals import IntakeRefusal

Told = tuple[tuple[str, ...], str]


def parse_damage(text: str) -> list[dict[str, str]]:
    """Each damage of a text with its note; raises BadInput.

    What stands behind a comma is another damage, or a note where it names no place; behind a colon
    all is note.
    """
    told, _, behind = text.partition(":")
    found: list[tuple[Told, list[str]]] = []
    held = ""
    for part in re.split(r"[,;]\s+", told.strip()):
        whole = f"{held},{part}" if held else part
        one = _damage(whole)
        if one is not None:
            found.append((one, []))
            held = ""
        elif _is_place(whole):  # contacts one after another: the kind stands behind the last
            held = whole
        elif held or not found or _is_place(part.split()[0] if part.split() else ""):
            raise _refused(whole, text)
        else:
            found[-1][1].append(part.strip())
    if held:
        raise _refused(held, text)
    if behind.strip():
        found[-1][1].append(behind.strip())
    return [
        {"where": place, "what": what, "note": ", ".join(notes)}
        for (where, what), notes in found
        for place in where
    ]


def _damage(text: str) -> Told | None:
    """Place and kind, whichever comes first; None where the text is not both."""
    words = text.split()
    for at in range(1, len(words)):
        first, last = " ".join(words[:at]), " ".join(words[at:])
        for where, what in ((first, last), (last, first)):
            try:
                return places(where), kind_of(what)
            except BadInput:
                continue
    return None


def _is_place(text: str) -> bool:
    try:
        return bool(places(text))
    except BadInput:
        return False


def _refused(part: str, text: str) -> BadInput:
    """Why it is no damage: the place or the kind that is not known, else how it is written."""
    where, _, what = part.strip().partition(" ")
    try:
        if what:
            places(where)
            kind_of(what.strip())
    except BadInput as error:
        return error
    return BadInput(IntakeRefusal.NO_DAMAGE(text=text))
