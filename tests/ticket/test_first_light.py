"""First light: danger first, each answer in its form, silence is no answer."""

from __future__ import annotations

import pytest

from burnin.cli.terminal.prompt_block import Look, prompt_block
from burnin.core.answers.form import form_of
from burnin.core.errors import BadInput
from burnin.core.meaning import Note, Prompt, Reason
from burnin.ticket.first_light.meanings import LightNote, LightPrompt
from burnin.ticket.first_light.observing import BEEPS, beeps_note, observe, parse_answer
from tests.ticket.tickets import sagen, say


class Technician:
    """Answers in order; None is silence."""

    def __init__(self, *answers: str | None) -> None:
        self._answers = list(answers)
        self.asked: list[Prompt] = []
        self.told: list[Note | Reason | str] = []

    def ask(self, question: Prompt, seconds: float) -> str | None:
        assert 0 < seconds <= 60
        self.asked.append(question)
        return self._answers.pop(0)

    def tell(self, text: Note | Reason | str) -> None:
        self.told.append(text)


def test_smoke_ends_it_at_once_and_nothing_more_is_asked() -> None:
    person = Technician("y")
    answers, ended = observe(person.ask, person.tell, ("DP-1",))
    assert (answers, ended) == ({"smoke": "yes"}, True)
    assert [prompt.code for prompt in person.asked] == [LightPrompt.SMOKE.value]
    assert person.told == [LightNote.POWER_OFF()]
    assert "POWER OFF" in say(LightNote.POWER_OFF())


def test_everything_is_asked_once_and_kept_in_its_form() -> None:
    person = Technician("n", "8", "y", "y", "n", "1.25 A")
    answers, ended = observe(person.ask, person.tell, ("DP-1", "DP-2"))
    assert not ended
    assert answers.pop("time_to_image_s").isdigit()
    assert answers == {
        "smoke": "no",
        "beeps": "8",
        "fans": "yes",
        "image DP-1": "yes",
        "image DP-2": "no",
        "current_a": "1.25",
    }
    assert len(person.asked) == 6


def test_silence_and_answers_that_do_not_fit_are_left_out() -> None:
    person = Technician(None, *5 * ["many"], "", "perhaps", "n", None)
    answers, ended = observe(person.ask, person.tell, ("DP-1",))
    assert not ended
    assert answers == {"image DP-1": "no"}


def test_what_a_count_of_beeps_means_is_never_asserted() -> None:
    for count in (*BEEPS, 11):
        note = beeps_note(str(count))
        assert note is not None
        told = say(note)
        assert "Depends on the board's firmware" in told
        assert "commonly" in told or "none" in told or "no common meaning" in told
        assert "Hängt von der Firmware der Hauptplatine ab" in sagen(note)
        assert told.startswith("1 beep (" if count == 1 else f"{count} beeps (")
    assert beeps_note("") is None


@pytest.mark.parametrize(
    ("form", "text"),
    [("yes_no", "maybe"), ("yes_no", "none"), ("count", "1.5"), ("number", "-1"), ("number", "x")],
)
def test_an_answer_of_another_form_is_refused(form: str, text: str) -> None:
    with pytest.raises(BadInput):
        parse_answer(form, text)


@pytest.mark.parametrize("key", ["b", "z", "zurück"])
def test_the_question_before_is_asked_again_and_its_answer_given_anew(key: str) -> None:
    person = Technician(key, "n", "8", key, "1", "y", key, None, "y", None)
    answers, _ = observe(person.ask, person.tell, ("DP-1",))
    assert answers.pop("time_to_image_s").isdigit()
    assert answers == {"smoke": "no", "beeps": "1", "image DP-1": "yes"}
    assert LightNote.NONE_BEFORE() in person.told
    form = form_of(person.asked[2])
    assert form is not None
    assert form.back
    assert "z: die Frage davor" in prompt_block(person.asked[2], sagen, Look())
    assert "b: the one before" in prompt_block(person.asked[2], say, Look())
    assert "skip and a reason" not in prompt_block(person.asked[0], say, Look())
