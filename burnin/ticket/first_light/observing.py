"""First light: what is seen, heard and smelt when a card is powered for the first time."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime

from burnin.core.answers.form import Form
from burnin.core.answers.meanings import AnswerReason, AnswerTerm, WithoutTerm
from burnin.core.answers.reader import YES_NO, Said, is_back, is_skip, read
from burnin.core.errors import BadInput
from burnin.core.meaning import Note, Prompt, Reason, Term
from burnin.ticket.first_light.meanings import BeepTerm, LightNote, LightPrompt
from burnin.ticket.log.store import add
from burnin.ticket.log.whole_ticket import WholeTicket

Ask = Callable[[Prompt, float], str | None]
"""Asks and waits so many seconds for the line typed; None: nobody answered."""
Tell = Callable[[Note | Reason | str], None]
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


_SHORT = {"yes_no": YES_NO, "yes_no_none": (*YES_NO, Said.NONE)}
_FORMS = {
    "yes_no": AnswerTerm.YES_NO(),
    "yes_no_none": AnswerTerm.YES_NO_NONE(),
    "count": AnswerTerm.COUNT(),
    "number": AnswerTerm.VALUE(unit="A"),
}
DANGER = "smoke"
"""Key of the one answer that ends it at once."""
BACK = "back"
"""In the place of an answer: the question before is asked again, its answer is given anew."""
_MOST = 100
_MOST_TIMES = 5
"""So often an answer that nobody can read is asked again."""


def questions(outputs: tuple[str, ...]) -> tuple[Question, ...]:
    """What is asked after power is on, danger first, in the order in which it is seen."""
    asked = _asked(outputs)
    forms = (
        Form(_FORMS[q.form], silence=WithoutTerm.LEFT_OUT(), back=True).at(number, len(asked))
        for number, q in enumerate(asked, 1)
    )
    return tuple(replace(q, prompt=form.on(q.prompt)) for q, form in zip(asked, forms, strict=True))


def _asked(outputs: tuple[str, ...]) -> tuple[Question, ...]:
    return (
        Question(DANGER, LightPrompt.SMOKE(), "yes_no", 30.0),
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

    An answer that does not fit is asked for again; what nobody answers is left out. Whoever goes
    back gives an answer anew: nothing is kept before all was asked.
    The time to the first image counts from the first question.
    """
    began = time.monotonic()
    answers: dict[str, str] = {}
    asked, at = questions(outputs), 0
    while at < len(asked):
        question = asked[at]
        answer = _answer(ask, tell, question)
        if answer is BACK:
            if at == 0:
                tell(LightNote.NONE_BEFORE())
            at = max(0, at - 1)
            answers.pop(asked[at].key, None)
            continue
        at += 1
        if answer is None:
            continue
        answers[question.key] = answer
        if question.key == DANGER and answer == "yes":
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
    if form in _SHORT:
        said = read(text, _SHORT[form])
        return None if said is Said.SKIP else said.value
    if is_skip(text):
        return None
    word = text.strip().lower()
    try:
        number = float(word.removesuffix("a").strip().replace(",", "."))
    except ValueError:
        raise BadInput(AnswerReason.NO_NUMBER(typed=text[:20])) from None
    if not 0.0 <= number <= _MOST:
        raise BadInput(AnswerReason.NOT_BETWEEN(typed=text[:20], least=0, most=_MOST))
    if form == "count":
        if number != int(number):
            raise BadInput(AnswerReason.NO_COUNT(typed=text[:20]))
        return str(int(number))
    return f"{number:g}"


def _answer(ask: Ask, tell: Tell, question: Question) -> str | None:
    """The answer, None where there is none, `BACK` where the one before is to be asked again."""
    for _ in range(_MOST_TIMES):
        line = ask(question.prompt, question.seconds)
        if line is None:
            return None
        if is_back(line):
            return BACK
        try:
            return parse_answer(question.form, line.strip())
        except BadInput as error:
            tell(error.told)
    return None
