"""First light: what is seen, heard and smelt when a card is powered for the first time."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from burnin.core.errors import BadInput
from burnin.ticket.store import add
from burnin.ticket.whole_ticket import WholeTicket

Ask = Callable[[str, float], str | None]
"""Asks a question and waits so many seconds for the line typed; None: nobody answered."""

BEEPS: dict[int, str] = {
    0: "none, or no speaker fitted",
    1: "commonly: start-up went through",
    2: "commonly: memory of the host computer",
    3: "commonly: memory of the host computer",
    5: "commonly: processor of the host computer",
    6: "commonly: keyboard or its controller",
    8: "commonly: the graphics card is missing or its memory fails",
}
"""What a count of beeps commonly means: common practice of several firmware makers, no source."""

BEEPS_CAUTION = "Depends on the board's firmware: look it up in the board's manual."


@dataclass(frozen=True)
class Question:
    """One prompt; `key` is how the answer is kept."""

    key: str
    text: str
    form: str
    seconds: float


DANGER = Question("smoke", "Smell or smoke? (y/n)", "yes_no", 30.0)


def questions(outputs: tuple[str, ...]) -> tuple[Question, ...]:
    """What is asked after power is on, danger first, in the order in which it is seen."""
    return (
        DANGER,
        Question("beeps", "How many beeps? (number, Enter: not heard)", "count", 30.0),
        Question("fans", "Do the fans turn? (y/n/none)", "yes_no_none", 30.0),
        *(
            Question(f"image {name}", f"Image on {name}? (y/n)", "yes_no", 60.0)
            for name in outputs
        ),
        Question("current_a", "Current of the card, if a meter is in line (A)", "number", 30.0),
    )


def beeps_text(count: str) -> str:
    """What a count of beeps commonly means, never asserted; empty for no count."""
    if not count.isdigit():
        return ""
    meaning = BEEPS.get(int(count), "no common meaning")
    return f"{count} beep{'s' * (count != '1')} ({meaning}). {BEEPS_CAUTION}"


def observe(
    ask: Ask, tell: Callable[[str], None], outputs: tuple[str, ...] = ("screen",)
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
            tell("POWER OFF NOW AT THE WALL. Do not breathe the smoke. Nothing more is asked.")
            return answers, True
        if question.key == "beeps":
            tell(beeps_text(answer))
        if question.key.startswith("image ") and answer == "yes":
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
        if form == "yes_no_none" and word == "none":
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


def _answer(ask: Ask, tell: Callable[[str], None], question: Question) -> str | None:
    for _ in range(2):
        line = ask(question.text, question.seconds)
        if line is None:
            return None
        try:
            return parse_answer(question.form, line)
        except BadInput as error:
            tell(str(error))
    return None
