"""First light: what is seen, heard and smelt when a card is powered for the first time."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from burnin.core.errors import BadInput
from burnin.core.meaning import Note, Prompt, Term
from burnin.ticket.first_light.meanings import BeepTerm, LightNote, LightPrompt
from burnin.ticket.log.store import add
from burnin.ticket.log.whole_ticket import WholeTicket

Ask = Callable[[Prompt, float], str | None]
"""Asks and waits so many seconds for the line typed; None: nobody answered."""
Tell = Callable[[Note | str], None]
"""Tells a note, or what is wrong with what was typed."""

BEEPS: dict[int, Term] = {
    0: BeepTerm.NONE(),
    1: BeepTerm.STARTED(),
    2: BeepTerm.HOST_MEMORY(),
    3: BeepTerm.HOST_MEMORY(),
    5: BeepTerm.HOST_PROCESSOR(),
    6: BeepTerm.KEYBOARD(),
    8: BeepTerm.GRAPHICS_CARD(),
}
"""What a count of beeps commonly means: common practice of several firmware makers, no source."""
IMAGE = "image "
"""With the name of an output after it: the key of the answer whether it shows an image."""


@dataclass(frozen=True)
class Question:
    """One prompt; `key` is how the answer is kept."""

    key: str
    prompt: Prompt
    form: str
    seconds: float


DANGER = Question("smoke", LightPrompt.SMOKE(), "yes_no", 30.0)


def questions(outputs: tuple[str, ...]) -> tuple[Question, ...]:
    """What is asked after power is on, danger first, in the order in which it is seen."""
    return (
        DANGER,
        Question("beeps", LightPrompt.BEEPS(), "count", 30.0),
        Question("fans", LightPrompt.FANS(), "yes_no_none", 30.0),
        *(
            Question(f"{IMAGE}{name}", LightPrompt.IMAGE(output=name), "yes_no", 60.0)
            for name in outputs
        ),
        Question("current_a", LightPrompt.CURRENT(), "number", 30.0),
    )


_MOST_DIGITS = 4
"""Nobody counts more beeps than that; what is longer is no count."""


def beeps_note(count: str) -> Note | None:
    """What a count of beeps commonly means, never asserted; None for no count."""
    if not (count.isascii() and count.isdigit() and len(count) <= _MOST_DIGITS):
        return None
    meaning = BEEPS.get(int(count), BeepTerm.NO_COMMON_MEANING())
    if int(count) == 1:
        return LightNote.ONE_BEEP(meaning=meaning)
    return LightNote.BEEPS(count=int(count), meaning=meaning)


def observe(
    ask: Ask, tell: Tell, outputs: tuple[str, ...] = ("screen",)
) -> tuple[dict[str, str], bool]:
    """Ask everything; answers by key, and whether smell or smoke ended it at once.

    An answer that does not fit is asked for once more; what nobody answers is left out.
    The time to the first image counts from the first question.
    """
    began = time.monotonic()
    answers: dict[str, str] = {}
    for question in questions(outputs):
        answer = _answer(ask, tell, question)
        if answer is None:
            continue
        answers[question.key] = answer
        if question is DANGER and answer == "yes":
            tell(LightNote.POWER_OFF())
            return answers, True
        heard = beeps_note(answer) if question.key == "beeps" else None
        if heard is not None:
            tell(heard)
        if question.key.startswith(IMAGE) and answer == "yes":
            answers.setdefault("time_to_image_s", f"{time.monotonic() - began:.0f}")
    return answers, False


def keep(
    ticket: WholeTicket,
    answers: dict[str, str],
    ended_at_once: bool,
    *,
    by: str = "",
    now: datetime | None = None,
) -> WholeTicket:
    """Put first light on the ticket."""
    fields = {"answers": answers, "ended_at_once": ended_at_once}
    return add(ticket, "first_light", fields, by=by, now=now)


def parse_answer(form: str, text: str) -> str | None:
    """An answer in the form that the question wants; None for an empty one, BadInput for others."""
    word = text.strip().lower()
    if not word:
        return None
    if form in ("yes_no", "yes_no_none"):
        if word in ("y", "yes", "j", "ja"):
            return "yes"
        if word in ("n", "no", "nein"):
            return "no"
        if form == "yes_no_none" and word in ("none", "keine"):
            return "none"
        raise BadInput("y or n?")
    try:
        number = float(word.removesuffix("a").strip().replace(",", "."))
    except ValueError:
        raise BadInput(f"{text[:20]!r} is no number") from None
    if not 0.0 <= number <= 100.0:
        raise BadInput(f"{text[:20]!r} is not between 0 and 100")
    if form == "count":
        if number != int(number):
            raise BadInput(f"{text[:20]!r} is no count")
        return str(int(number))
    return f"{number:g}"


def _answer(ask: Ask, tell: Tell, question: Question) -> str | None:
    for _ in range(2):
        line = ask(question.prompt, question.seconds)
        if line is None:
            return None
        try:
            return parse_answer(question.form, line)
        except BadInput as error:
            tell(str(error))
    return None
