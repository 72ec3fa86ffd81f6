"""Each prompt on the page has the controls that its answer takes, told by its data alone."""

from __future__ import annotations

from dataclasses import replace

import pytest

from burnin.core.answers.form import DONE, YES_NO
from burnin.core.answers.meanings import WithoutTerm
from burnin.core.meaning import Prompt
from burnin.page.standing import Standing
from burnin.page.telling.asked import told_prompt
from burnin.profile.under_load import TouchedTemperature
from burnin.report.languages.catalogue import catalogue
from burnin.stages.cold_starts.meanings import ColdStartPrompt
from burnin.stages.display.meanings import DisplayPrompt
from burnin.stages.meanings import StagesPrompt
from burnin.stages.movement.meanings import MovementPrompt
from burnin.stages.under_load.asked import prompt_of
from burnin.stages.under_load.forms import form_at

HEAT = TouchedTemperature(
    measure="temperature", name="heat", title="The joint", at="joint", at_most_c=65.0
)
VALUE = form_at(HEAT).at(2, 4).on(prompt_of(HEAT))
MONITOR = YES_NO.on(DisplayPrompt.CONNECT_MONITOR(output="DP-2"))
AS_NO = replace(YES_NO, silence=WithoutTerm.AS_NO(), enter=WithoutTerm.AS_NO())


def told(prompt: Prompt, language: str = "en") -> dict[str, object]:
    standing = Standing(7, "5-under_load", prompt, 60.0, "2026-03-02T09:15:00.000Z")
    return told_prompt(standing, 42.0, catalogue(language))


@pytest.mark.parametrize(
    ("prompt", "buttons", "field"),
    [
        (MONITOR, ["yes", "no", "skip"], ""),
        (DONE.on(MovementPrompt.EDGE()), ["done", "skip"], ""),
        (VALUE, ["skip"], "value in °C"),
        (AS_NO.on(ColdStartPrompt.RESEATED()), ["yes", "no"], ""),
        (DisplayPrompt.CONNECT_MONITOR(output="DP-2"), ["yes", "no"], "Answer"),
    ],
    ids=["yes or no", "done", "value", "no without an answer", "tells no form"],
)
def test_the_controls_are_those_of_the_answer(
    prompt: Prompt, buttons: list[str], field: str
) -> None:
    shown = told(prompt)
    assert [sends for sends, _ in shown["buttons"]] == buttons  # type: ignore[attr-defined]
    assert shown["field"] == field


def test_a_good_value_its_place_among_others_and_what_silence_means_are_told() -> None:
    shown = told(VALUE, "de")
    assert shown["good"] == "gut: 65 °C oder weniger"
    assert shown["place"] == "2 von 4"
    assert shown["left"] == "noch 42 s; ohne Antwort: nicht gemessen"
    assert told(AS_NO.on(ColdStartPrompt.RESEATED()))["left"] == (
        "42 s left; without an answer: counts as no"
    )


def test_what_was_wrong_stands_apart_from_what_is_asked_again() -> None:
    shown = told(StagesPrompt.AGAIN(words="'160 F': unknown unit", prompt=VALUE))
    assert shown["wrong"] == "'160 F': unknown unit"
    assert shown["text"] == told(VALUE)["text"]
    assert shown["field"] == "value in °C"
