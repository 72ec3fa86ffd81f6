"""Hands and a meter at a held power: what resists shows, and what nobody measured never passes."""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from burnin.cli.terminal.prompter import TerminalPrompter
from burnin.core.errors import BadInput, StoppedByHand
from burnin.core.events import Event, GuardTripped, SampleTaken
from burnin.core.meaning import Prompt
from burnin.core.reading import NotMeasured, Reading, Verdict, known
from burnin.core.verdict import StageVerdict
from burnin.guard.meanings import GuardReason
from burnin.profile.loader import LoadedProfile, load_profile
from burnin.profile.under_load import (
    Picture,
    SupplyVoltage,
    TouchedTemperature,
    UnderLoadPoint,
    VoltageAcross,
)
from burnin.report.languages.catalogue import catalogue
from burnin.run.prompters import NobodyThere
from burnin.run.reasons import RunReason
from burnin.sim.bench import SimulatedBench, simulated_bench
from burnin.sim.technician import SimulatedTechnician
from burnin.stages.context import Prompter
from burnin.stages.meanings import StagesReason
from burnin.stages.registry import stage_kind
from burnin.stages.standing_prompt import StandingPrompt
from burnin.stages.under_load.asked import read_answer
from burnin.stages.under_load.meanings import UnderLoadReason
from burnin.stages.under_load.settings import UnderLoad
from tests.refusals import refused
from tests.run.driving import run_simulated
from tests.stages.on_bench import context_of

KIND = stage_kind("under_load")
ACROSS = VoltageAcross(
    measure="voltage_across", name="joint", title="Across the joint", at="joint", at_most_v=0.02
)
SUPPLY = SupplyVoltage(measure="supply_voltage", name="plug", title="12 V at the plug")
WARMTH = TouchedTemperature(
    measure="temperature", name="heat", title="The joint", at="joint", at_most_c=65.0
)
PICTURE = Picture(measure="picture", name="picture", title="The picture")
ALL = (ACROSS, SUPPLY, WARMTH, PICTURE)


@dataclass
class Measured:
    """What a stage under load gave."""

    readings: dict[str, Reading]
    events: list[Event]

    def powers_w(self) -> list[float]:
        samples = [e.sample for e in self.events if isinstance(e, SampleTaken)]
        told = [known(sample.telemetry.power_w) for sample in samples]
        return [power_w for power_w in told if power_w is not None]


class Silent:
    """A technician who is gone after so many prompts, without a word."""

    def __init__(self, asks: SimulatedTechnician, answers: int = 0) -> None:
        self._asks, self._left = asks, answers

    def ask(self, prompt: Prompt, timeout_s: float) -> str | NotMeasured:
        return self._asks.ask(prompt, timeout_s)

    def put(self, prompt: Prompt, timeout_s: float) -> StandingPrompt:
        self._left -= 1
        return self._asks.put(prompt, timeout_s) if self._left >= 0 else NoAnswer()


class NoAnswer:
    """A prompt that stays open."""

    def look(self) -> str | NotMeasured | None:
        return None

    def withdraw(self) -> None:
        pass


def settings(**more: Any) -> UnderLoad:
    return UnderLoad.model_validate(
        {"stage": "under_load", "power_w": 300.0, "settle_s": 40.0, **more}
    )


def measure(
    folder: Path,
    bench: SimulatedBench,
    prompter: Prompter | None = None,
    points: tuple[UnderLoadPoint, ...] = ALL,
    stops_after_s: float | None = None,
    **more: Any,
) -> Measured:
    asks = SimulatedTechnician(bench.machine, bench.attached_outputs)

    def stop_asked() -> bool:
        return stops_after_s is not None and bench.machine.time_s > stops_after_s

    context, events = context_of(
        KIND, bench, folder, prompter or asks, stop_asked=stop_asked, points=points
    )
    if stops_after_s is None:
        KIND.carry_out(context, settings(**more))
    else:
        with pytest.raises(StoppedByHand):
            KIND.carry_out(context, settings(**more))
    bench.clock.sleep_s(0.1)
    assert bench.machine.activity.idle
    return Measured({r.name: r for r in context.readings}, events)


def technician(bench: SimulatedBench) -> SimulatedTechnician:
    return SimulatedTechnician(bench.machine, bench.attached_outputs)


def test_two_milliohms_show_as_voltage_and_heat_and_as_nothing_else(tmp_path: Path) -> None:
    measured = measure(tmp_path, simulated_bench("warm_joint")).readings
    assert {name: r.verdict for name, r in measured.items()} == {
        "drop_at_joint_v joint": Verdict.FAIL,
        "supply_at_plug_v plug": Verdict.PASS,
        "temp_at_joint_c heat": Verdict.FAIL,
        "picture_clean picture": Verdict.PASS,
    }
    across = measured["drop_at_joint_v joint"]
    assert across.uncertainty > 0.0
    assert across.reason is not None
    ohm = across.reason["ohm"]
    assert isinstance(ohm, float)
    # 2 mΩ and the sound joint's, less what comes through the slot.
    assert 0.0015 < ohm < 0.0023


def test_a_sound_joint_passes_at_the_power_that_was_asked_for(tmp_path: Path) -> None:
    measured = measure(tmp_path, simulated_bench("opens_by_touch"))
    assert {r.verdict for r in measured.readings.values()} == {Verdict.PASS}
    assert max(measured.powers_w()) < 320.0
    source = measured.readings["drop_at_joint_v joint"].source
    assert source is not None
    assert source["power_w"] == pytest.approx(300.0, rel=0.03)


def test_a_good_value_at_less_power_is_no_pass_and_a_bad_one_stays_bad(tmp_path: Path) -> None:
    sound = measure(tmp_path / "a", simulated_bench("opens_by_touch"), power_w=900.0)
    across = sound.readings["drop_at_joint_v joint"]
    assert across.verdict is Verdict.NOT_MEASURED
    assert across.reason is not None
    assert across.reason.means(UnderLoadReason.POWER_NOT_HELD)
    bad = measure(tmp_path / "b", simulated_bench("warm_joint"), power_w=900.0)
    assert bad.readings["drop_at_joint_v joint"].verdict is Verdict.FAIL


def test_who_goes_away_leaves_the_rest_unmeasured_and_the_watch_goes_on(tmp_path: Path) -> None:
    bench = simulated_bench("opens_by_touch")
    asks = Silent(technician(bench), answers=1)
    measured = measure(
        tmp_path, bench, asks, (ACROSS, SUPPLY), settle_s=5.0, prompt_timeout_s=20.0
    )
    assert measured.readings["drop_at_joint_v joint"].verdict is Verdict.PASS
    supply = measured.readings["supply_at_plug_v plug"]
    assert supply.verdict is Verdict.NOT_MEASURED
    assert supply.reason == StagesReason.PROMPT_TIMED_OUT(waited_s=20.0)
    gaps = [e.sample.period_s or 0.0 for e in measured.events if isinstance(e, SampleTaken)]
    assert max(gaps) < 0.2


def test_ctrl_c_withdraws_the_prompt_and_names_what_was_not_reached(tmp_path: Path) -> None:
    bench = simulated_bench("opens_by_touch")
    asks = Silent(technician(bench))
    measured = measure(
        tmp_path, bench, asks, (ACROSS, SUPPLY), stops_after_s=12.0, settle_s=5.0
    )
    why = GuardReason.STOPPED_BY_HAND()
    across, supply = (measured.readings[n].reason for n in sorted(measured.readings))
    assert across == StagesReason.PROMPT_WITHDRAWN(reason=why)
    assert supply == UnderLoadReason.NOT_REACHED(reason=why)


def test_where_nobody_is_at_hand_no_point_passes(tmp_path: Path) -> None:
    bench = simulated_bench("opens_by_touch")
    measured = measure(tmp_path, bench, NobodyThere(), settle_s=1.0)
    assert len(measured.readings) == len(ALL)
    for reading in measured.readings.values():
        assert reading.verdict is Verdict.NOT_MEASURED
        assert reading.reason == RunReason.NOBODY_AT_HAND()


def test_a_card_without_that_plug_is_not_measured_there(tmp_path: Path) -> None:
    measured = measure(tmp_path, simulated_bench("healthy"), points=(ACROSS,), settle_s=1.0)
    assert measured.readings["drop_at_joint_v joint"].reason == StagesReason.PROMPT_SKIPPED()


class TypesInTerminal:
    """Answers at a real terminal, three of the bench's seconds after each prompt was put there."""

    def __init__(self, far: int, lines: list[str], bench: SimulatedBench) -> None:
        self._far, self._lines, self._machine = far, lines, bench.machine
        self._terminal = TerminalPrompter(catalogue("de").say, lambda: None, lambda: False)

    def ask(self, prompt: Prompt, timeout_s: float) -> str | NotMeasured:  # noqa: ARG002
        raise AssertionError("nothing waits while the card works")

    def put(self, prompt: Prompt, timeout_s: float) -> StandingPrompt:
        self._stands = self._terminal.put(prompt, timeout_s)
        self._due_s = self._machine.time_s + 3.0
        self._typed = False
        return self

    def look(self) -> str | NotMeasured | None:
        if not self._typed and self._machine.time_s >= self._due_s:
            self._typed = True
            os.write(self._far, f"{self._lines.pop(0)}\n".encode())
        return self._stands.look()

    def withdraw(self) -> None:
        self._stands.withdraw()


def test_what_is_typed_in_a_real_terminal_is_read_while_the_card_works(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    far, near = os.openpty()
    with open(near, encoding="utf-8") as terminal:  # noqa: PTH123
        monkeypatch.setattr(sys, "stdin", terminal)
        bench = simulated_bench("opens_by_touch")
        asks = TypesInTerminal(far, ["35", "3,5 mV", "12,1", "71 °C", "ja"], bench)
        measured = measure(tmp_path, bench, asks, settle_s=5.0).readings
    os.close(far)
    assert [r.value for r in measured.values()] == [0.0035, 12.1, 71.0, "yes"]
    shown = capsys.readouterr().out
    assert "V oder mV?" in shown
    assert "nicht abrutschen" in shown


@pytest.mark.parametrize(
    ("point", "text", "value", "most_off"),
    [
        (ACROSS, "35 mV", 0.035, 0.002),
        (ACROSS, "0,035 V", 0.035, 0.002),
        (ACROSS, "35 ± 0.5 mV", 0.035, 0.0005),
        (SUPPLY, "12,1", 12.1, 0.2),
        (SUPPLY, "12.1V", 12.1, 0.2),
        (WARMTH, "71 °C", 71.0, 3.0),
        (WARMTH, "71,5", 71.5, 3.0),
        (WARMTH, "71 ± 1 °C", 71.0, 1.0),
    ],
)
def test_values_are_typed_as_before_power(
    point: UnderLoadPoint, text: str, value: float, most_off: float
) -> None:
    read = read_answer(point, settings(), text)
    assert not isinstance(read, str)
    assert read.value == pytest.approx(value)
    assert 0.0 < read.uncertainty <= most_off


@pytest.mark.parametrize(
    ("point", "text", "told"),
    [
        (ACROSS, "35", "V or mV"),
        (ACROSS, "-35 mV", "negative"),
        (ACROSS, "OL", "over the range"),
        (ACROSS, "71 °C", "measured as a voltage"),
        (SUPPLY, "350 mV", "is it a drop, or of another point"),
        (SUPPLY, "0.4", "6 V at least"),
        (SUPPLY, "0.4 Ω", "measured as a voltage"),
        (SUPPLY, "121 V", "more than a meter shows"),
        (SUPPLY, "11.2 ... 11.9 V", "does not settle"),
        (WARMTH, "160 F", "unknown unit"),
        (WARMTH, "12 V", "measured as a temperature"),
        (PICTURE, "maybe", r"type y \(yes\)"),
    ],
)
def test_what_is_no_value_of_the_point_is_refused(
    point: UnderLoadPoint, text: str, told: str
) -> None:
    with refused(BadInput, match=told):
        read_answer(point, settings(), text)


def test_a_camera_knows_less_than_a_probe() -> None:
    by_camera = WARMTH.model_copy(update={"by": "camera"})
    sure, unsure = (read_answer(p, settings(), "71 °C") for p in (WARMTH, by_camera))
    assert not isinstance(sure, str)
    assert not isinstance(unsure, str)
    assert unsure.uncertainty > sure.uncertainty


def profile_with(folder: Path, replace: dict[str, str]) -> LoadedProfile:
    text = Path("profiles/repaired_joint.toml").read_text("utf-8")
    for old, new in replace.items():
        assert old in text
        text = text.replace(old, new)
    file = folder / "own.toml"
    file.write_text(text, "utf-8")
    return load_profile(str(file))


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('name = "joint_drop"', 'name = "plug_12v"', "another point has this name"),
        ('stage = "under_load"\nown_power_share = 0.7', 'stage = "compute"', "no stage"),
        ("own_power_share = 0.7", "own_power_share = 0.7\npower_w = 300.0", "not both"),
        ("at_most_v = 0.020", "at_most_v = 0.0", "at_most_v"),
    ],
)
def test_points_and_stage_go_together(old: str, new: str, told: str, tmp_path: Path) -> None:
    replace = {old: new}
    if told == "no stage":
        replace["settle_s = 60.0\nprompt_timeout_s = 60.0"] = ""
    with refused(BadInput, match=told):
        profile_with(tmp_path, replace)


SHORT = """
format = 1
title = "Measured under load"
[guards]
gpu_temp_limit_c = 45.0
[[under_load]]
measure = "voltage_across"
name = "joint"
title = "Across the joint"
at = "joint"
at_most_v = 0.02
[[stages]]
stage = "under_load"
power_w = 400.0
settle_s = 2.0
"""


def test_a_guard_ends_the_load_under_an_open_prompt(tmp_path: Path) -> None:
    file = tmp_path / "hot.toml"
    file.write_text(SHORT, "utf-8")
    ran = run_simulated("warm_joint", load_profile(str(file)), tmp_path)
    [trip] = [e for e in ran.events if isinstance(e, GuardTripped)]
    [across] = [r for r in ran.record.readings if r.name == "drop_at_joint_v joint"]
    assert across.reason == StagesReason.PROMPT_WITHDRAWN(reason=trip.reason)
    assert across.verdict is Verdict.NOT_MEASURED
    assert ran.outcome.stages[0].verdict is StageVerdict.ABORTED
