"""What comes by touch is laid to the movement during which it came, by physics alone."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from burnin.core.errors import DeviceLost, StoppedByHand
from burnin.core.events import Event, Noted, ReadingTaken, SampleTaken
from burnin.core.meaning import Meaning, Prompt
from burnin.core.reading import NotMeasured, Reading, Verdict
from burnin.guard.meanings import GuardReason
from burnin.sim.bench import SimulatedBench, simulated_bench
from burnin.sim.scenario.model import load_scenario, scenario_from
from burnin.sim.technician import SimulatedTechnician
from burnin.stages.context import Prompter
from burnin.stages.meanings import StagesReason
from burnin.stages.movement.meanings import (
    MovementEvent,
    MovementNote,
    MovementPrompt,
    MovementReason,
)
from burnin.stages.registry import stage_kind
from burnin.stages.standing_prompt import Settled, StandingPrompt
from tests.stages.on_bench import NobodyThere, context_of

KIND = stage_kind("movement")


@dataclass
class Moved:
    """What a stage of movements gave."""

    readings: dict[str, Reading]
    events: list[Event]

    def happened(self) -> list[tuple[str, str]]:
        """Movement and event, each by its code."""
        notes = [e.note for e in self.events if isinstance(e, Noted)]
        return [
            (_code(n["during"]), _code(n["event"])) for n in notes if n.means(MovementNote.HAPPENED)
        ]


def _code(value: object) -> str:
    assert isinstance(value, Meaning)
    return value.code


class LeavesIt:
    """Moves the card as asked, and answers nothing."""

    def __init__(self, technician: SimulatedTechnician) -> None:
        self._technician = technician

    def ask(self, prompt: Prompt, timeout_s: float) -> str | NotMeasured:
        return self._technician.ask(prompt, timeout_s)

    def put(self, prompt: Prompt, timeout_s: float) -> StandingPrompt:
        self._technician.put(prompt, timeout_s)
        return Silent()


class Silent:
    """A prompt that nobody answers."""

    def look(self) -> str | NotMeasured | None:
        return None

    def withdraw(self) -> None:
        pass


def with_cause(**cause: object) -> SimulatedBench:
    """A sound card but for one cause."""
    sound = load_scenario("healthy").model_dump(exclude_none=True, exclude={"causes"})
    sound["card"]["regains_width"] = True
    return simulated_bench(scenario_from({**sound, "causes": [cause]}, "test"))


def technician(bench: SimulatedBench) -> SimulatedTechnician:
    return SimulatedTechnician(bench.machine, bench.attached_outputs)


def move(
    bench: SimulatedBench,
    folder: Path,
    prompter: Prompter | None = None,
    raises: type[Exception] | None = None,
    stop_asked: Callable[[], bool] = lambda: False,
    **settings: Any,
) -> Moved:
    chosen = KIND.settings.model_validate({"stage": "movement", "still_s": 1.0, **settings})
    asks = technician(bench) if prompter is None else prompter
    context, events = context_of(KIND, bench, folder, asks, stop_asked=stop_asked)
    if raises is None:
        KIND.carry_out(context, chosen)
    else:
        with pytest.raises(raises):
            KIND.carry_out(context, chosen)
    bench.clock.sleep_s(0.1)
    assert bench.machine.activity.idle
    return Moved({r.name: r for r in context.readings}, events)


def test_a_joint_that_opens_by_touch_is_found_by_the_movement_that_opens_it(
    tmp_path: Path,
) -> None:
    moved = move(simulated_bench("opens_by_touch"), tmp_path, places=("free_end", "edge"))
    verdicts = {name: r.verdict for name, r in moved.readings.items()}
    assert verdicts == {
        "came_untouched": Verdict.PASS,
        "came_free_end_supported": Verdict.PASS,
        "first_came_edge_pressed": Verdict.FAIL,
        "came_edge_pressed": Verdict.FAIL,
    }
    happened = moved.happened()
    assert set(happened) == {("movement_edge", MovementEvent.LINK_NARROWER.value)}
    assert moved.readings["came_edge_pressed"].value == len(happened)
    reason = moved.readings["came_edge_pressed"].reason
    assert reason is not None
    [event] = [part for part in reason.parts() if part.means(MovementEvent.LINK_NARROWER)]
    assert event["from_lanes"] == 16


def test_what_comes_first_is_a_reading_before_anything_is_noted_of_it(tmp_path: Path) -> None:
    moved = move(simulated_bench("opens_by_touch"), tmp_path, places=("edge",))
    failed = [
        place
        for place, event in enumerate(moved.events)
        if isinstance(event, ReadingTaken) and event.reading.verdict is Verdict.FAIL
    ]
    noted = [
        place
        for place, event in enumerate(moved.events)
        if isinstance(event, Noted) and event.note.means(MovementNote.HAPPENED)
    ]
    assert failed[0] < noted[0]


def test_it_is_looked_at_more_often_than_it_is_sampled(tmp_path: Path) -> None:
    moved = move(simulated_bench("healthy"), tmp_path, places=("edge",))
    samples = sum(isinstance(e, SampleTaken) for e in moved.events)
    looked = [r.source["looks_count"] for r in moved.readings.values() if r.source]
    assert sum(n for n in looked if isinstance(n, int)) > 3 * samples
    assert all(r.verdict is Verdict.PASS for r in moved.readings.values())


def test_a_contact_with_more_resistance_the_more_it_is_bent_is_found_too(tmp_path: Path) -> None:
    bench = with_cause(
        kind="contact", contact="A47", state="resistive", ohms=400.0, moved_at="free_end"
    )
    moved = move(bench, tmp_path, places=("free_end",))
    assert moved.readings["came_free_end_supported"].verdict is Verdict.FAIL


def test_a_cable_whose_contact_opens_loses_its_screen_and_no_other(tmp_path: Path) -> None:
    bench = with_cause(
        kind="output", output="DP-2", contact="hot_plug_detect", state="open", moved=True
    )
    moved = move(bench, tmp_path, places=("screen_cables",))
    failed = [name for name, r in moved.readings.items() if r.verdict is Verdict.FAIL]
    assert failed == ["first_came_cable_moved DP-2", "came_cable_moved DP-2"]
    assert set(moved.happened()) == {
        ("movement_screen_cable", MovementEvent.SCREEN_LOST.value)
    }


def test_what_comes_untouched_is_laid_to_no_movement(tmp_path: Path) -> None:
    bench = with_cause(
        kind="output", output="DP-2", contact="hot_plug_detect", state="open",
        after_s=122.0, every_s=60.0, for_s=0.5,
    )  # fmt: skip
    moved = move(bench, tmp_path, still_s=5.0, places=("edge",))
    assert moved.readings["came_edge_pressed"].verdict is Verdict.PASS
    assert moved.readings["came_untouched"].verdict is Verdict.FAIL


def test_a_card_that_leaves_the_bus_by_touch_is_laid_to_it_and_the_rest_is_not_reached(
    tmp_path: Path,
) -> None:
    bench = with_cause(kind="contact", contact="A11", state="open", moved_at="free_end")
    moved = move(bench, tmp_path, raises=DeviceLost, places=("free_end", "edge"))
    assert moved.readings["came_free_end_supported"].verdict is Verdict.FAIL
    assert ("movement_free_end", MovementEvent.CARD_GONE.value) in moved.happened()
    edge = moved.readings["came_edge_pressed"]
    assert edge.verdict is Verdict.NOT_MEASURED
    assert edge.reason is not None
    assert edge.reason.means(MovementReason.NOT_REACHED)


def test_a_movement_that_nobody_answers_is_not_measured_and_the_load_goes_on(
    tmp_path: Path,
) -> None:
    bench = simulated_bench("healthy")
    moved = move(
        bench, tmp_path, LeavesIt(technician(bench)), places=("edge",), prompt_timeout_s=6.0
    )
    edge = moved.readings["came_edge_pressed"]
    assert edge.reason == StagesReason.PROMPT_TIMED_OUT(waited_s=6.0)
    assert edge.verdict is Verdict.NOT_MEASURED
    gaps = [
        e.sample.period_s for e in moved.events if isinstance(e, SampleTaken) if e.sample.period_s
    ]
    assert max(gaps) < 0.2


def test_what_happens_during_a_movement_counts_though_nobody_answers(tmp_path: Path) -> None:
    bench = simulated_bench("opens_by_touch")
    moved = move(
        bench, tmp_path, LeavesIt(technician(bench)), places=("edge",), prompt_timeout_s=6.0
    )
    assert moved.readings["came_edge_pressed"].verdict is Verdict.FAIL


def test_ctrl_c_takes_the_prompt_away_and_each_movement_keeps_its_reason(tmp_path: Path) -> None:
    bench = simulated_bench("healthy")

    def stop_asked() -> bool:
        return bench.machine.hands.moved(bench.machine.time_s) != {}

    moved = move(
        bench, tmp_path, raises=StoppedByHand, stop_asked=stop_asked, places=("free_end", "edge")
    )
    why = GuardReason.STOPPED_BY_HAND()
    assert moved.readings["came_untouched"].verdict is Verdict.PASS
    free = moved.readings["came_free_end_supported"]
    assert free.reason == StagesReason.PROMPT_WITHDRAWN(reason=why)
    assert moved.readings["came_edge_pressed"].reason == MovementReason.NOT_REACHED(reason=why)


def test_where_nobody_can_be_asked_no_movement_passes(tmp_path: Path) -> None:
    moved = move(simulated_bench("healthy"), tmp_path, NobodyThere())
    assert moved.readings.pop("came_untouched").verdict is Verdict.PASS
    assert len(moved.readings) == 7
    for reading in moved.readings.values():
        assert reading.verdict is Verdict.NOT_MEASURED
        assert reading.required


@pytest.mark.parametrize("answer", ["n", "no", "nein"])
def test_who_says_no_has_not_moved_it(answer: str, tmp_path: Path) -> None:
    class SaysNo(LeavesIt):
        def put(self, prompt: Prompt, timeout_s: float) -> StandingPrompt:
            assert prompt.means(*MovementPrompt)
            assert timeout_s
            return Settled(answer)

    bench = simulated_bench("healthy")
    moved = move(bench, tmp_path, SaysNo(technician(bench)), places=("edge",))
    assert moved.readings["came_edge_pressed"].reason == MovementReason.NOT_DONE()
