"""Short answers are read in one way; what a prompt tells of its answer outlives the record."""

from __future__ import annotations

import json

import pytest

from burnin.core.answers.form import DONE, YES_NO, Form, form_of
from burnin.core.answers.meanings import AnswerTerm, GoodTerm
from burnin.core.answers.reader import YES_NO as MAY_SAY
from burnin.core.answers.reader import Said, is_back, is_skip, read, told_again, why_skipped
from burnin.core.errors import BadInput
from burnin.core.meaning import Prompt, Term
from burnin.report.languages.catalogue import catalogue
from burnin.stages.movement.meanings import MovementPrompt


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("skip glue not dry", "glue not dry"),
        ("Skip:  glue   not dry", "glue not dry"),
        ("weiter Kleber noch feucht", "Kleber noch feucht"),
        ("später, Spitze fehlt", "Spitze fehlt"),
        ("skip", None),
        ("skip 5", None),
        ("- 5", None),
        ("s 38", None),
        ("skipping", None),
    ],
)
def test_what_is_left_out_may_have_a_reason_and_a_figure_is_none(
    text: str, why: str | None
) -> None:
    assert why_skipped(text) == why


@pytest.mark.parametrize("text", ["back", "B", "zurück", "ZURÜCK", "zurueck", "z"])
def test_back_is_understood_in_both_languages(text: str) -> None:
    assert is_back(text)
    assert not is_skip(text)


def test_what_is_not_understood_is_told_with_what_is_possible_in_the_language_shown() -> None:
    with pytest.raises(BadInput) as refused:
        read("maybe\x1b[A", MAY_SAY)
    told = refused.value.told
    assert not isinstance(told, str)
    assert catalogue("en").say(told) == (
        "'maybe[A' is not understood here; type y (yes), n (no) or s or Enter alone (left out)"
    )
    assert "j (ja), n (nein)" in catalogue("de").say(told)


def test_a_yes_is_a_done_only_where_done_is_asked_for() -> None:
    assert read("ja", (Said.DONE, Said.NO)) is Said.DONE
    with pytest.raises(BadInput):
        read("fertig", (Said.YES, Said.NO))


def test_the_form_of_an_answer_is_data_of_the_prompt_and_comes_back_from_json() -> None:
    most = GoodTerm.QUANTITY(value=20.0, unit="mV")
    form = Form(
        AnswerTerm.VALUE(unit="V"), GoodTerm.AT_MOST(most=most), where=(Term("here"),), back=True
    ).at(3, 9)
    prompt = form.on(MovementPrompt.EDGE())
    assert prompt.means(MovementPrompt.EDGE)
    read_back = form_of(Prompt.from_plain(json.loads(json.dumps(prompt.as_plain()))))
    assert read_back == form


def test_a_prompt_of_an_older_record_tells_no_form_and_a_newer_form_takes_its_place() -> None:
    bare = MovementPrompt.EDGE()
    assert form_of(bare) is None
    assert form_of(Prompt("x", (("form", "yes"),))) is None
    twice = DONE.on(YES_NO.on(bare))
    found = form_of(twice)
    assert found is not None
    assert found.answer == AnswerTerm.DONE()
    assert len(twice.data) == 1


def test_a_short_answer_is_told_afterwards_in_the_language_that_is_shown() -> None:
    for typed, english, german in (("y", "yes", "ja"), ("fertig", "done", "fertig")):
        term = told_again(typed)
        assert not isinstance(term, str)
        assert (catalogue("en").say(term), catalogue("de").say(term)) == (english, german)
    assert told_again("12,1 V") == "12,1 V"
