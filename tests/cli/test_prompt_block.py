"""A prompt stands out in any width, says what comes of silence, reads in order without styles."""

from __future__ import annotations

import re

import pytest

from burnin.cli.terminal.prompt_block import Look, prompt_block
from burnin.core.answers.form import DONE
from burnin.core.answers.meanings import AnswerReason, KeyTerm
from burnin.core.meaning import Prompt
from burnin.profile.under_load import VoltageAcross
from burnin.report.languages.catalogue import catalogue
from burnin.stages.display.meanings import DisplayPrompt
from burnin.stages.meanings import StagesPrompt
from burnin.stages.movement.meanings import MovementPrompt
from burnin.stages.under_load.asked import prompt_of
from burnin.stages.under_load.forms import form_at

JOINT = VoltageAcross(
    measure="voltage_across", name="joint", title="Across the joint", at="joint", at_most_v=0.02
)
VALUE = form_at(JOINT).at(3, 9).on(prompt_of(JOINT))
MOVE = DONE.at(1, 4).on(MovementPrompt.FREE_END())
WRONG = AnswerReason.NOT_UNDERSTOOD(typed="yy", possible=(KeyTerm.DONE(), KeyTerm.NO()))
AGAIN = StagesPrompt.AGAIN(words=WRONG, prompt=MOVE)


def block(prompt: Prompt, language: str = "en", look: Look | None = None) -> str:
    return prompt_block(prompt, catalogue(language).say, look or Look(), 60.0)


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("columns", [60, 80, 120])
@pytest.mark.parametrize("prompt", [VALUE, MOVE, AGAIN], ids=["value", "move", "again"])
def test_every_line_fits_and_nothing_is_lost(prompt: Prompt, columns: int, language: str) -> None:
    lines = block(prompt, language, Look(columns)).split("\n")
    assert max(map(len, lines)) < columns
    told = " ".join(" ".join(lines).split())
    inner = prompt if prompt is not AGAIN else MOVE
    assert catalogue(language).say(inner) in told
    assert ">>>" not in told


def test_count_question_limit_and_what_silence_means_stand_in_the_order_in_which_they_are_read(
) -> None:
    assert block(VALUE).split("\n") == [
        "◆ 3 of 9  Live, do not slip: Across the joint: voltage from one side to the",
        "  other",
        "  good: 20 mV or less",
        "  no answer in 60 s: not measured; Enter alone: left out",
        "  value in V / mV: ",
    ]
    assert "keine Antwort in 60 s: nicht gemessen; nur Eingabetaste: ausgelassen" in block(
        VALUE, "de"
    )


def test_what_was_wrong_is_told_before_it_is_asked_again() -> None:
    lines = block(AGAIN).split("\n")
    assert lines[0] == "  'yy' is not understood here; type d (done) or n (no)"
    assert lines[1].startswith("◆ 1 of 4  ")


def test_bold_and_dim_say_nothing_that_the_words_do_not() -> None:
    styled = block(MOVE, look=Look(styled=True))
    assert "\x1b[1m◆" in styled
    assert re.sub(r"\x1b\[\d*m", "", styled) == block(MOVE)


def test_a_prompt_without_a_form_still_tells_how_long_it_stands_and_cannot_move_the_cursor(
) -> None:
    told = block(DisplayPrompt.CONNECT_MONITOR(output="DP-1\x1b[2J"), look=Look(mark="* "))
    assert told.startswith("* Connect a monitor")
    assert "waits 60 s" in told
    assert "\x1b" not in told
