"""The picture on each detected screen is asked for; what nobody saw is not measured."""

from __future__ import annotations

from pathlib import Path

import pytest

from burnin.core.meaning import Prompt
from burnin.core.parties import Party
from burnin.core.reading import NotMeasured, Reading, Verdict
from burnin.core.suspects import SUSPECTS
from burnin.core.verdict import RunVerdict
from burnin.diagnosis.outputs.looks import Picture, looks_at_outputs
from burnin.run.bench import OpenBench
from burnin.run.prompters import SaidBeforehand
from burnin.run.reasons import RunReason
from burnin.run.session import prompter_for
from burnin.sim.bench import simulated_bench
from burnin.sim.technician import SimulatedTechnician
from burnin.stages.context import Prompter
from burnin.stages.display import KIND
from burnin.stages.display.meanings import DisplayPrompt, DisplayReason
from burnin.stages.meanings import StagesPrompt, StagesReason
from tests.run import driving
from tests.stages.on_bench import context_of, settings_of


class Says:
    """Somebody who says the same of every picture."""

    def __init__(self, answer: str) -> None:
        self.answer, self.asked = answer, list[str]()

    def ask(self, prompt: Prompt, timeout_s: float) -> str | NotMeasured:
        if prompt.means(StagesPrompt.AGAIN):
            return self.answer
        if not prompt.means(DisplayPrompt.PICTURE):
            return NotMeasured(RunReason.NOBODY_ANSWERED(waited_s=timeout_s))
        self.asked.append(str(prompt["output"]))
        return self.answer


def seen(folder: Path, prompter: Prompter, scenario: str = "healthy") -> dict[str, Reading]:
    """Readings of pictures, and of the modes that are offered, by their names."""
    bench = simulated_bench(scenario)
    context, _ = context_of(KIND, bench, folder, prompter)
    try:
        KIND.carry_out(context, settings_of(KIND))
    finally:
        bench.engine.close()
    return {r.name: r for r in context.readings}


@pytest.mark.parametrize(
    ("typed", "verdict"),
    [
        ("y", Verdict.PASS),
        ("sauber", Verdict.PASS),
        ("Nein", Verdict.FAIL),
        ("none", Verdict.NOT_MEASURED),
        ("dunkel", Verdict.NOT_MEASURED),
        ("", Verdict.NOT_MEASURED),
        ("perhaps", Verdict.NOT_MEASURED),
    ],
)
def test_a_picture_passes_only_where_somebody_says_that_it_is_clean(
    tmp_path: Path, typed: str, verdict: Verdict
) -> None:
    says = Says(typed)
    found = seen(tmp_path, says)
    pictures = [r for name, r in found.items() if name.startswith("picture_seen ")]
    assert {r.verdict for r in pictures} == {verdict}
    assert len(pictures) == len(set(says.asked)) == 4


def test_a_picture_that_is_not_clean_may_be_cable_or_screen_as_well_as_the_card(
    tmp_path: Path,
) -> None:
    found = seen(tmp_path, Says("n"))
    flawed = next(r for name, r in found.items() if name.startswith("picture_seen "))
    assert flawed.reason is not None
    assert flawed.reason.means(DisplayReason.PICTURE_FLAWED)
    assert {Party.CARD, Party.CABLE, Party.MONITOR} <= set(SUSPECTS["picture_seen"].weights)


@pytest.mark.parametrize(
    "nobody", [SaidBeforehand(frozenset({"DP-1"})), SaidBeforehand(frozenset())]
)
def test_whoever_only_said_where_monitors_are_has_seen_no_picture(
    tmp_path: Path, nobody: SaidBeforehand
) -> None:
    pictures = [r for n, r in seen(tmp_path, nobody).items() if n.startswith("picture_seen ")]
    assert pictures
    assert {r.verdict for r in pictures} == {Verdict.NOT_MEASURED}


def test_where_nobody_answers_nobody_is_asked_again(tmp_path: Path) -> None:
    class Away(Says):
        def ask(self, prompt: Prompt, timeout_s: float) -> str | NotMeasured:
            super().ask(prompt, timeout_s)
            return NotMeasured(RunReason.NOBODY_ANSWERED(waited_s=timeout_s))

    away = Away("")
    found = seen(tmp_path, away)
    assert len(away.asked) == 1
    pictures = [r for n, r in found.items() if n.startswith("picture_seen ")]
    assert len(pictures) == 4
    assert {r.verdict for r in pictures} == {Verdict.NOT_MEASURED}


def test_left_out_is_told_as_that(tmp_path: Path) -> None:
    found = seen(tmp_path, Says("skip"))
    one = next(r for name, r in found.items() if name.startswith("picture_seen "))
    assert one.reason is not None
    assert one.reason.means(StagesReason.PROMPT_LEFT_OUT)


def test_flaws_that_an_eye_saw_count_though_the_driver_offers_the_mode(tmp_path: Path) -> None:
    found = seen(tmp_path, Says("n"))
    assert {look.picture for look in looks_at_outputs(list(found.values()))} == {Picture.SPARKLES}
    clean = seen(tmp_path / "again", Says("y"))
    assert {look.picture for look in looks_at_outputs(list(clean.values()))} == {Picture.CLEAN}


def test_the_simulated_technician_sees_what_the_lanes_carry() -> None:
    bench = simulated_bench("healthy")
    technician = SimulatedTechnician(bench.machine, frozenset())
    names = [output.name for output in bench.machine.outputs]
    asked = {n: technician.ask(DisplayPrompt.PICTURE(output=n), 60.0) for n in [*names, "DP-99"]}
    bench.engine.close()
    assert asked.pop("DP-99") == "none"
    assert set(asked.values()) == {"yes"}


def test_a_flawed_picture_is_never_laid_to_the_card_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Screen and cable were proven to be detected there, and not how their picture looks."""
    usual = prompter_for

    class SeesStripes:
        def __init__(self, opened: OpenBench) -> None:
            self._usual = usual(opened)

        def ask(self, prompt: Prompt, timeout_s: float) -> str | NotMeasured:
            return "n" if prompt.means(DisplayPrompt.PICTURE) else self._usual.ask(
                prompt, timeout_s
            )

    monkeypatch.setattr(driving, "prompter_for", SeesStripes)
    left_out = frozenset({"link", "memory", "compute", "thermal_ramp"})
    ran = driving.run_simulated("healthy_x8", "short_x8", tmp_path, left_out=left_out)
    assert ran.outcome.verdict is RunVerdict.CONDITIONAL
    assert "another cable" in ran.told
