"""The one reader of short answers: yes, no, done, left out, back; in every language at once.

A bench's keyboard knows nothing of the language on the screen, and a person in gloves types one
key: so each answer has one, and the words of all languages are understood everywhere. What is none
of them is refused with what is possible, never taken for a no.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from enum import Enum

from burnin.core.answers.meanings import AnswerReason, KeyTerm, SaidTerm
from burnin.core.errors import BadInput
from burnin.core.meaning import Term


class Said(Enum):
    """What a short answer says."""

    YES = "yes"
    NO = "no"
    DONE = "done"
    SKIP = "skip"
    BACK = "back"
    NONE = "none"


_WORDS: dict[Said, tuple[str, ...]] = {
    Said.YES: ("y", "yes", "j", "ja"),
    Said.NO: ("n", "no", "nein"),
    Said.DONE: ("d", "done", "f", "fertig", "ok"),
    Said.SKIP: ("", "-", "s", "skip", "w", "weiter", "later", "später", "spaeter"),
    Said.BACK: ("b", "back", "z", "zurück", "zurueck"),
    Said.NONE: ("none", "keine"),
}
_KEYS: dict[Said, Term] = {
    Said.YES: KeyTerm.YES(),
    Said.NO: KeyTerm.NO(),
    Said.DONE: KeyTerm.DONE(),
    Said.SKIP: KeyTerm.SKIP(),
    Said.BACK: KeyTerm.BACK(),
    Said.NONE: KeyTerm.NONE(),
}
_SAID: dict[Said | None, Term] = {
    Said.YES: SaidTerm.YES(),
    Said.NO: SaidTerm.NO(),
    Said.DONE: SaidTerm.DONE(),
    Said.NONE: SaidTerm.NONE(),
}
YES_NO = (Said.YES, Said.NO, Said.SKIP)
DONE = (Said.DONE, Said.NO, Said.SKIP)
_WITH_REASON = re.compile(r"(?:skip|weiter|later|später|spaeter)\s*[:,–-]?\s+(.*[^\W\d_].*)", re.I)
_MOST_SHOWN = 40


def read(text: str, possible: Sequence[Said], more: dict[str, Said] | None = None) -> Said:
    """What the text says, of what is possible; raises BadInput that tells all that is.

    Where done is asked for, a yes is one. `more` are words that only this prompt knows.
    """
    word = _as_typed(text)
    found = (more or {}).get(word) or _meant(word)
    if found is Said.YES and Said.YES not in possible and Said.DONE in possible:
        found = Said.DONE
    if found is None or found not in possible:
        keys = tuple(_KEYS[said] for said in possible)
        shown = "".join(c for c in text if c.isprintable()).strip()[:_MOST_SHOWN]
        raise BadInput(AnswerReason.NOT_UNDERSTOOD(typed=shown, possible=keys))
    return found


def told_again(text: str) -> Term | str:
    """A short answer as it is told afterwards, in any language; anything else as it was typed."""
    said = _meant(_as_typed(text))
    return _SAID.get(said, text)


def is_skip(text: str) -> bool:
    """Whether somebody leaves it out: Enter alone, or a word for it."""
    return _meant(_as_typed(text)) is Said.SKIP


def is_back(text: str) -> bool:
    """Whether somebody wants the prompt before this one."""
    return _meant(_as_typed(text)) is Said.BACK


def why_skipped(text: str) -> str | None:
    """Why somebody leaves it out, as in ``skip glue not dry``; None for anything else."""
    found = _WITH_REASON.fullmatch(unicodedata.normalize("NFKC", text).strip())
    return " ".join(found[1].split()) if found else None


def _meant(word: str) -> Said | None:
    return next((said for said, words in _WORDS.items() if word in words), None)


def _as_typed(text: str) -> str:
    """One spelling: no blanks around, no capitals, no sign that ends a sentence."""
    return unicodedata.normalize("NFKC", text).strip().rstrip("!.,;").strip().lower()
