"""The first screen of an explanation: the likely cause, how sure that is, the next step."""

from __future__ import annotations

import textwrap

from burnin.core.meaning import Check, Meaning, Term, TermCode
from burnin.diagnosis.explanation import Answer, Explanation
from burnin.diagnosis.meanings import NextCheck
from burnin.diagnosis.outputs.faults import next_at_output
from burnin.report.explanation import ExplanationTerm, claim_sentence, headline, surely
from burnin.report.languages.catalogue import catalogue

_MOST_TOLD = 3


class FirstTerm(TermCode):
    """Lines of the first screen; `sure` and `percent` are terms or numbers, `check` a next step."""

    CAUSE = "explanation_first_cause", "words"
    ANSWER = "explanation_first_answer", "words"
    HOW_SURE = "explanation_first_how_sure", "sure", "percent"
    CERTAIN = "explanation_first_certain"
    VERY_LIKELY = "explanation_first_very_likely"
    LIKELY = "explanation_first_likely"
    RATHER = "explanation_first_rather"
    OPEN = "explanation_first_open"
    ELSE = "explanation_first_else", "percent", "words"
    NEXT = "explanation_first_next", "check"
    NEXT_TAKES = "explanation_first_next_takes", "check", "minutes"
    MORE = "explanation_first_more"


_SURE = (
    (0.99, FirstTerm.CERTAIN()),
    (0.9, FirstTerm.VERY_LIKELY()),
    (0.7, FirstTerm.LIKELY()),
    (0.5, FirstTerm.RATHER()),
)
"""From which probability on what is said; what is less is open."""


def explanation_first(explanation: Explanation, language: str = "en", width: int = 96) -> str:
    """What a person at the bench needs of it, for a terminal of that width.

    Raises BadInput for a language that there is not.
    """
    words = catalogue(language)
    told: list[Meaning] = []
    if explanation.evidence.simulated:
        told.append(ExplanationTerm.SIMULATED())
    sure, answer = _probability(explanation), headline(explanation, words)
    told.append((FirstTerm.ANSWER if sure is None else FirstTerm.CAUSE)(words=answer))
    if sure is not None:
        told.append(FirstTerm.HOW_SURE(sure=_in_words(sure), percent=surely(sure)))
    if sure is None or sure < _SURE[-1][0] or explanation.answer is Answer.CANNOT_TELL:
        first = 0 if explanation.answer is Answer.CANNOT_TELL else 1
        for ranked in explanation.ranked[first:_MOST_TOLD]:
            claim = claim_sentence(ranked.claim, words)
            told.append(FirstTerm.ELSE(percent=surely(ranked.probability), words=claim))
    next_one = _next(explanation)
    if next_one is not None:
        told.append(next_one)
    if explanation.evidence.elsewhere:
        told += [ExplanationTerm.FAILED_ELSEWHERE(), *explanation.evidence.elsewhere]
    told.append(FirstTerm.MORE())
    most = max(24, min(96, width - 1))
    lines = [
        line
        for meaning in told
        for line in textwrap.wrap(
            words.say(meaning), most, subsequent_indent="  ", break_on_hyphens=False
        )
    ]
    return "\n".join(lines) + "\n"


def _probability(explanation: Explanation) -> float | None:
    """How probable the answer is; None where it names no cause."""
    if explanation.because is None:
        return explanation.ranked[0].probability
    told = dict(explanation.because.data).get("probability")
    named = explanation.answer is Answer.EXPLAINED and isinstance(told, float)
    return told if named and isinstance(told, float) else None


def _in_words(probability: float) -> Term:
    return next((term for least, term in _SURE if probability > least), FirstTerm.OPEN())


def _next(explanation: Explanation) -> Meaning | None:
    if explanation.outputs and explanation.answer is Answer.EXPLAINED and not explanation.steps:
        check = next_at_output(
            [s for s in explanation.outputs if s.output == explanation.outputs[0].output]
        )
        return _step(check)
    if explanation.steps:
        step = explanation.steps[0]
        return FirstTerm.NEXT_TAKES(check=step.check, minutes=step.minutes)
    if explanation.answer is Answer.NOTHING_TO_EXPLAIN:
        return _step(NextCheck.METER_WHAT_LINK_HIDES())
    return None


def _step(check: Check | None) -> Meaning | None:
    return None if check is None else FirstTerm.NEXT(check=check)
