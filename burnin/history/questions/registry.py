"""All questions by name, and how one is asked."""

from __future__ import annotations

from dataclasses import replace

from burnin.core.clock import iso
from burnin.core.errors import BadInput
from burnin.core.meaning import Note
from burnin.history.answer import Answer, Asked, Question
from burnin.history.meanings import HistoryNote, HistoryReason
from burnin.history.opened import History
from burnin.history.questions import (
    came_back,
    card_life,
    contact_fails,
    drift,
    first_yield,
    known_good,
    outliers,
    owed_when,
    own_doubts,
    stage_finds,
)
from burnin.history.questions.views import real_runs

QUESTIONS: dict[str, Question] = {
    question.name: question
    for question in (
        came_back.QUESTION,
        first_yield.QUESTION,
        stage_finds.QUESTION,
        drift.QUESTION,
        known_good.QUESTION,
        contact_fails.QUESTION,
        card_life.QUESTION,
        outliers.QUESTION,
        owed_when.QUESTION,
        own_doubts.QUESTION,
    )
}


def question_named(name: str) -> Question:
    """A question by its name; raises BadInput where there is none."""
    found = QUESTIONS.get(name)
    if found is None:
        told = HistoryReason.NOT_A_QUESTION(question=name, questions=tuple(QUESTIONS))
        raise BadInput(told)
    return found


def ask(history: History, question: Question, asked: Asked) -> Answer:
    """Ask a question; raises BadInput for a way to part it that it has not."""
    wanted = asked.by or (question.ways[0] if question.ways else "")
    if wanted and wanted not in question.ways:
        ways = question.ways or ("-",)
        raise BadInput(HistoryReason.NOT_A_WAY(question=question.name, by=wanted, ways=ways))
    asked = replace(asked, by=wanted)
    answer = question.answer(history.rows(question.rows(history, asked)), asked)
    return replace(answer, notes=(*_rests_on(history, asked, answer), *answer.notes))


def _rests_on(history: History, asked: Asked, answer: Answer) -> tuple[Note, ...]:
    sources = history.table("sources")
    apart = sources.filter(sources.state == "apart").count().to_pyarrow().as_py()
    runs = real_runs(history, asked).count().to_pyarrow().as_py()
    as_of = HistoryNote.AS_OF(at_utc=iso(history.as_of), runs_count=runs, apart_count=apart)
    notes = (as_of, *((HistoryNote.SIMULATED(),) if asked.simulated else ()))
    return (*notes, *(() if answer.rows else (HistoryNote.NOTHING(),)))
