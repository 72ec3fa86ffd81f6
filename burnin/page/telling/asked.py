"""The open prompt as the page shows it: its question, and the controls that its answer takes."""

from __future__ import annotations

from burnin.core.answers.form import Form, form_of
from burnin.core.answers.meanings import AnswerTerm, WithoutTerm
from burnin.core.answers.reader import Said
from burnin.core.meaning import Meaning
from burnin.page.standing import Standing
from burnin.page.terms import PageTerm
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.one_line import one_line
from burnin.stages.meanings import StagesPrompt

_MOST_CHARACTERS = 300
Told = dict[str, object]


def told_prompt(standing: Standing, left_s: float, words: Catalogue) -> Told:
    """What a script puts in place; `buttons` are told by what each sends and its label."""
    wrong, prompt = _parts(standing.prompt, words)
    form = form_of(prompt)
    counts = WithoutTerm.NOT_MEASURED() if form is None else form.silence
    place = ""
    if form is not None and form.of_count > 1:
        place = words.say(PageTerm.PROMPT_OF(number=form.number, of_count=form.of_count))
    return {
        "number": standing.number,
        "text": one_line(words.say(prompt), _MOST_CHARACTERS),
        "wrong": wrong,
        "place": place,
        "good": "" if form is None else one_line(words.say(form.good), _MOST_CHARACTERS),
        "left": words.say(PageTerm.PROMPT_LEFT(seconds=left_s, counts=counts)),
        "buttons": [[said.value, label] for said, label in _buttons(form, words)],
        "field": _field(form, words),
    }


def _parts(prompt: Meaning, words: Catalogue) -> tuple[str, Meaning]:
    """What was wrong with the last answer, empty where none was, and what is asked."""
    data = dict(prompt.data)
    asked, why = data.get("prompt"), data.get("words")
    if not prompt.means(StagesPrompt.AGAIN) or not isinstance(asked, Meaning):
        return "", prompt
    wrong = words.say(why) if isinstance(why, Meaning) else str(why)
    return one_line(wrong, _MOST_CHARACTERS), asked


def _buttons(form: Form | None, words: Catalogue) -> list[tuple[Said, str]]:
    """What may be answered by one press, the likeliest first."""
    yes_no = [(Said.YES, words.word("yes")), (Said.NO, words.word("no"))]
    if form is None:  # a prompt of a shop's own stage, or of an older record
        return yes_no
    found: list[tuple[Said, str]] = []
    if form.answer.means(AnswerTerm.YES_NO, AnswerTerm.YES_NO_NONE):
        found = yes_no
    elif form.answer.means(AnswerTerm.DONE):
        found = [(Said.DONE, words.say(PageTerm.DONE()))]
    if not form.enter.means(WithoutTerm.AS_NO):
        found.append((Said.SKIP, words.say(PageTerm.LEAVE_OUT())))
    return found


def _field(form: Form | None, words: Catalogue) -> str:
    """The label of the field for text; empty where the answer is a word that has its button."""
    if form is None:
        return words.say(PageTerm.ANSWER())
    typed = form.answer.means(AnswerTerm.VALUE, AnswerTerm.COUNT)
    return one_line(words.say(form.answer), 80) if typed else ""
