"""The places at which yes, no or done is asked for, each as one line typed and what came of it.

What came is told by one word: ``yes``, ``no``, ``done``, ``left out``, or ``again`` where the same
was asked once more.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

from burnin.cli.ticket_of_run import agreed
from burnin.core.meaning import Prompt
from burnin.core.reading import NotMeasured, Verdict
from burnin.profile.under_load import Picture
from burnin.run.reasons import RunReason
from burnin.sim.bench import simulated_bench
from burnin.stages.cold_starts.settings import ColdStarts
from burnin.stages.display.meanings import DisplayReason
from burnin.stages.display.settings import Display
from burnin.stages.meanings import StagesReason
from burnin.stages.movement.meanings import MovementPrompt
from burnin.stages.movement.places import read_done
from burnin.stages.registry import stage_kind
from burnin.stages.standing_prompt import Question, Settled, StandingPrompt
from burnin.stages.under_load.asked import prompt_of, read_answer
from burnin.stages.under_load.settings import UnderLoad
from burnin.ticket.bound_card.meanings import CardPrompt
from burnin.ticket.first_light.meanings import LightPrompt
from burnin.ticket.first_light.observing import observe
from tests.stages.on_bench import context_of

PICTURE = Picture(measure="picture", name="picture", title="The picture")
GONE = NotMeasured(RunReason.NOBODY_ANSWERED(waited_s=60.0))


class OneLine:
    """Types one line at the prompt that is meant, ``no`` at others, and is gone after that."""

    def __init__(self, line: str, only: str = "") -> None:
        self._line, self._only = line, only
        self.times_asked = 0

    def ask(self, prompt: Prompt, timeout_s: float) -> str | NotMeasured:  # noqa: ARG002
        """The line at first, then nothing."""
        if self._only and dict(prompt.data).get("output", self._only) != self._only:
            return "no"
        self.times_asked += 1
        return self._line if self.times_asked == 1 else GONE

    def put(self, prompt: Prompt, timeout_s: float) -> StandingPrompt:  # noqa: ARG002
        """The same where a prompt stands."""
        self.times_asked += 1
        return Settled(self._line if self.times_asked == 1 else GONE)


def display(line: str, folder: Path) -> str:
    """Is a monitor connected to an output of which the card feels nothing?"""
    bench, types = simulated_bench("dead_output"), OneLine(line, "DP-2")
    kind = stage_kind("display")
    context, _ = context_of(kind, bench, folder, types)
    kind.carry_out(context, Display(stage="display", outputs=4, watch_s=0.0))
    bench.engine.close()
    if types.times_asked > 1:
        return "again"
    found = next(r for r in context.readings if r.name == "screen_detected DP-2")
    if found.verdict is Verdict.FAIL:
        return "yes"
    assert found.reason is not None
    return "no" if found.reason.means(DisplayReason.NO_MONITOR) else "left out"


def cold_start(line: str, folder: Path) -> str:
    """Was the card seated again?"""
    bench, types = simulated_bench("healthy"), OneLine(line)
    kind = stage_kind("cold_starts")
    context, _ = context_of(kind, bench, folder, types)
    settings = ColdStarts(
        stage="cold_starts", width_lanes=16, generation=4, load_s=1.0, reseats=1, starts=1
    )
    kind.carry_out(context, settings)
    bench.engine.close()
    if types.times_asked > 1:
        return "again"
    log = (folder / "cold_starts.jsonl").read_text("utf-8").splitlines()
    begun = next(e for e in map(json.loads, log) if "reseated" in str(e))
    return "yes" if '"reseated": true' in json.dumps(begun) else "no"


def movement(line: str, folder: Path) -> str:
    """Is the movement done?"""
    return _standing(line, MovementPrompt.EDGE(), read_done)


def picture(line: str, folder: Path) -> str:
    """Is the picture clean?"""
    settings = UnderLoad(stage="under_load", power_w=100.0)
    return _standing(line, prompt_of(PICTURE), lambda text: read_answer(PICTURE, settings, text))


def first_light(line: str, folder: Path) -> str:
    """Smell or smoke?"""
    asked: list[Prompt] = []

    def ask(prompt: Prompt, seconds: float) -> str | None:
        asked.append(prompt)
        return line if len(asked) == 1 else None

    answers, _ = observe(ask, lambda _: None, ("DP-1",))
    smoke = [prompt for prompt in asked if prompt.means(LightPrompt.SMOKE)]
    return "again" if len(smoke) > 1 else answers.get("smoke", "left out")


def other_card(line: str, folder: Path) -> str:
    """Is the run to go on with another card than the ticket's?"""
    asked: list[Prompt] = []

    def ask(prompt: Prompt, seconds: float) -> str | None:
        asked.append(prompt)
        return line if len(asked) == 1 else None

    went_on = agreed(ask, lambda _: None, CardPrompt.GO_ON(number="4711", differs=()))
    if len(asked) > 1:
        return "again"
    return "yes" if went_on else "no"


def _standing(line: str, prompt: Prompt, read: Callable[[str], object]) -> str:
    types = OneLine(line)
    question = Question(types, simulated_bench("healthy").clock, prompt, 60.0, read)
    answer = question.look()
    if answer is None:
        return "again"
    if isinstance(answer, NotMeasured):
        assert answer.reason.means(StagesReason.PROMPT_SKIPPED)
        return "left out"
    if isinstance(answer, bool):
        return "done" if answer else "no"
    return str(answer)


PLACES: dict[str, Callable[[str, Path], str]] = {
    "display": display,
    "cold_start": cold_start,
    "movement": movement,
    "picture": picture,
    "first_light": first_light,
    "other_card": other_card,
}
