"""What a prompt tells of its answer, as data: no terminal and no page reads its sentence."""

from __future__ import annotations

from dataclasses import dataclass, replace

from burnin.core.answers.meanings import AnswerTerm, FormTerm, WithoutTerm
from burnin.core.meaning import Meaning, Prompt, Term, Value

_FORM = "form"
_NOT_MEASURED, _LEFT_OUT = WithoutTerm.NOT_MEASURED(), WithoutTerm.LEFT_OUT()


@dataclass(frozen=True)
class Form:
    """The kind of an answer (`AnswerTerm`), what a good one looks like, where to measure it.

    `silence` and `enter` tell what comes of no answer in time and of Enter alone (`WithoutTerm`).
    `number` of `of_count` where several are asked, 0 where it is one alone; `back`: whether the one
    before may be asked again.
    """

    answer: Term
    good: Meaning | None = None
    where: tuple[Term, ...] = ()
    silence: Meaning = _NOT_MEASURED
    enter: Meaning = _LEFT_OUT
    number: int = 0
    of_count: int = 0
    back: bool = False

    def at(self, number: int, of_count: int) -> Form:
        """The same as one of several."""
        return replace(self, number=number, of_count=of_count)

    def on(self, prompt: Prompt) -> Prompt:
        """The prompt that tells this of its answer."""
        kept = tuple((name, value) for name, value in prompt.data if name != _FORM)
        return Prompt(prompt.code, (*kept, (_FORM, self._as_term())))

    def _as_term(self) -> Term:
        return FormTerm.FORM(
            answer=self.answer,
            good=self.good,
            where=self.where,
            silence=self.silence,
            enter=self.enter,
            number=self.number,
            of_count=self.of_count,
            back=self.back,
        )


YES_NO = Form(AnswerTerm.YES_NO())
DONE = Form(AnswerTerm.DONE())


def form_of(prompt: Meaning) -> Form | None:
    """What a prompt tells of its answer; None for one that tells nothing, as in an older record."""
    told = dict(prompt.data).get(_FORM)
    if not isinstance(told, Meaning) or not told.means(FormTerm.FORM):
        return None
    data = dict(told.data)
    answer, good, where = data.get("answer"), data.get("good"), data.get("where")
    if not isinstance(answer, Meaning):
        return None
    return Form(
        answer=Term(answer.code, answer.data),
        good=good if isinstance(good, Meaning) else None,
        where=_terms(where),
        silence=_meaning(data.get("silence"), _NOT_MEASURED),
        enter=_meaning(data.get("enter"), _LEFT_OUT),
        number=_count(data.get("number")),
        of_count=_count(data.get("of_count")),
        back=data.get("back") is True,
    )


def _terms(value: Value) -> tuple[Term, ...]:
    found = value if isinstance(value, tuple) else ()
    return tuple(Term(one.code, one.data) for one in found if isinstance(one, Meaning))


def _meaning(value: Value, otherwise: Meaning) -> Meaning:
    return value if isinstance(value, Meaning) else otherwise


def _count(value: Value) -> int:
    return value if isinstance(value, int) and not isinstance(value, bool) else 0
