"""First light as a ticket keeps it, named for whoever reads it later."""

from __future__ import annotations

from collections.abc import Mapping

from burnin.core.meaning import Meaning, Term
from burnin.ticket.first_light.meanings import LightTerm
from burnin.ticket.first_light.observing import IMAGE, beeps_note
from burnin.ticket.log.whole_ticket import FirstLight

_NAMES = {
    "smoke": LightTerm.SMOKE,
    "beeps": LightTerm.BEEPS,
    "fans": LightTerm.FANS,
    "time_to_image_s": LightTerm.TIME_TO_IMAGE,
    "current_a": LightTerm.CURRENT,
}
_WORDS = {"yes": LightTerm.YES, "no": LightTerm.NO, "none": LightTerm.NO_FANS}

Observed = tuple[Term, "str | Meaning"]
"""What was observed, and the answer: a figure as it was typed, or a meaning."""


def observed(light: FirstLight) -> tuple[Observed, ...]:
    """When it was, each answer under its name, and whether it ended at once."""
    found: list[Observed] = [(LightTerm.WHEN(), LightTerm.AT(time_utc=light.time_utc))]
    found += [(_name(key), _meaning(key, answer)) for key, answer in light.answers.items()]
    if light.ended_at_once:
        found.append((LightTerm.ENDED(), LightTerm.AT_ONCE()))
    return tuple(found)


def answers_told(answers: Mapping[str, str]) -> tuple[Term, ...]:
    """Each answer with its name, as one term."""
    return tuple(
        LightTerm.ANSWER(name=_name(key), answer=_word(answer)) for key, answer in answers.items()
    )


def _name(key: str) -> Term:
    if key in _NAMES:
        return _NAMES[key]()
    if key.startswith(IMAGE):
        return LightTerm.IMAGE(output=key.removeprefix(IMAGE))
    return LightTerm.OF_NEWER_TOOL(key=key)


def _meaning(key: str, answer: str) -> str | Meaning:
    heard = beeps_note(answer) if key == "beeps" else None
    if heard is not None:
        return heard
    return _word(answer)


def _word(answer: str) -> str | Meaning:
    return _WORDS[answer]() if answer in _WORDS else answer
