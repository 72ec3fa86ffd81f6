"""Sentences of format 1 that have a code today; every other one stays somebody's words.

A record holds what the tool said when it was written, so that this table never changes: it is the
only place that reads a sentence.
"""

from __future__ import annotations

from burnin.record.reasons import RecordReason

Plain = dict[str, object]

_KNOWN = {
    "card stopped answering: its configuration space reads all ones or is gone": "guard_card_gone",
    "card stopped answering": "run_card_gone",
    "left out by hand": "run_left_out_by_hand",
    "stopped by hand": "guard_stopped_by_hand",
    "stopped by hand (Ctrl-C)": "guard_stopped_by_hand",
    "unattended: nobody was there to move the cable": "run_unattended",
    "no graphics card enumerated on this bench": "run_nothing_enumerated",
    "software Vulkan works the bench's processor: no graphics card takes part": (
        "run_software_works_processor"
    ),
    "the run has not come to its end": "not_at_its_end",
    "no reading of this stage was judged": "nothing_judged",
    "the value read is not a number": "not_a_number",
}
_BEGINNINGS = {
    "card stopped answering: ": ("run_card_gone_at_work", "reason"),
    "the card stopped answering: ": ("engine_card_lost", "how"),
    "not reached: ": ("run_not_reached", "reason"),
}
"""Beginning of a sentence: the code, and the name of the datum that holds the rest."""
_NOBODY_ANSWERED = ("asked, and nobody answered within ", " s")
_FROM_RUN = "from run "
_TAKEN_OVER = " (taken over from an earlier run)"
KIND_TITLES = (
    "enumeration",
    "link",
    "display outputs",
    "memory",
    "compute",
    "thermal ramp",
    "cold starts",
)
"""How the titles of kinds of stages began; a stage with another title had one of its own."""


class Typing:
    """Gives words a meaning, and keeps the places where it could not."""

    def __init__(self, untyped: list[str]) -> None:
        self._untyped = untyped

    def words(self, text: str, place: str) -> Plain:
        """Words that no code stands for."""
        self._untyped.append(place)
        return {"code": RecordReason.WORDS_OF_FORMAT_1.value, "words": text}

    def reason(self, text: str, place: str) -> Plain:
        """A reason, a note or anything else that was a sentence."""
        if text in _KNOWN:
            return {"code": _KNOWN[text]}
        for beginning, (code, datum) in _BEGINNINGS.items():
            if text.startswith(beginning):
                return {"code": code, datum: self.reason(text.removeprefix(beginning), place)}
        asked, unit = _NOBODY_ANSWERED
        waited = text.removeprefix(asked).removesuffix(unit)
        if text == f"{asked}{waited}{unit}" and waited.isdecimal():
            return {"code": "run_nobody_answered", "waited_s": float(waited)}
        return self.words(text, place)

    def reasons(self, text: str, place: str) -> list[Plain]:
        """A sentence as a list of reasons; empty for none."""
        return [self.reason(text, place)] if text else []

    def source(self, text: str, place: str) -> Plain:
        """Where a value is from; a reading that was taken over names the run it is from."""
        if text.startswith(_FROM_RUN):
            run, _, rest = text.removeprefix(_FROM_RUN).partition(": ")
            if not rest:
                return {"code": "proven_from_run_alone", "run": run}
            return {"code": "proven_from_run", "run": run, "source": self.words(rest, place)}
        return self.words(text, place)


def own_title(title: str) -> tuple[str, bool]:
    """A stage's own title, empty where it had that of its kind; whether it was taken over."""
    told = title.removesuffix(_TAKEN_OVER)
    return ("" if told.lower() in KIND_TITLES else told), told != title


def title_of_reading(name: str) -> str:
    """How format 1 worded a reading's name in what is owed."""
    head, _, rest = name.partition(" ")
    ending = next((e for e in _UNIT_ENDINGS if head.endswith(e)), "")
    words = [_WORDS.get(word, word) for word in head.removesuffix(ending).split("_")]
    return f"{' '.join(words)} {rest.replace('_', ' ')}".strip()


_UNIT_ENDINGS = (
    *("_k_per_w", "_k_per_s", "_j_per_k", "_lanes", "_gts", "_gbs", "_gib", "_pct"),
    *("_c", "_k", "_w", "_j"),
)
_WORDS = {"gpu": "GPU", "hotspot": "hot spot", "edid": "EDID", "max": "peak", "temp": "temperature"}
