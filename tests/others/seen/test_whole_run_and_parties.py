"""Seen at a bench: a link that fell where nobody looked, and faults of the bench laid to the card.

At the level of the command: what it prints, what it exits with, what lies in the record.
"""

from __future__ import annotations

import json
import re
from functools import cache
from html import unescape
from importlib import resources
from pathlib import Path
from tempfile import mkdtemp

import pytest
from typer.testing import CliRunner

from burnin.cli.app import app
from burnin.core.meaning import Meaning
from burnin.core.parties import PartyReason
from burnin.core.reading import Verdict
from burnin.core.verdict import WHOLE_RUN, RunVerdict, VerdictReason
from burnin.record.reader import Record, read_record
from burnin.replay.verdicts import judge_anew
from burnin.report.languages.catalogue import catalogue
from burnin.sim.scenario.model import cause_scenario_names, scenario_names
from tests.long import few_short

STAGES = {
    "link": 'stage = "link"\nwidth_lanes = 16\ngeneration = 4\nidle_s = 0.5\nload_s = 3.0',
    "heat": 'stage = "thermal_ramp"\nsteps = [{ load_share = 1.0, hold_s = 15.0 }]\n'
    "cool_down_s = 2.0",
    "paste": 'stage = "thermal_ramp"\nsteps = [{ load_share = 1.0, hold_s = 20.0 }]\n'
    "cool_down_s = 2.0\nhotspot_delta_at_most_k = 25.0",
    "long heat": 'stage = "thermal_ramp"\nsteps = [{ load_share = 1.0, hold_s = 50.0 }]',
    "compute": 'stage = "compute"\nload_s = 12.0',
    "memory": 'stage = "memory"\npatterns = ["solid", "walking_bits"]',
    "display": 'stage = "display"\noutputs = 4\nmonitors = "all"',
}
"""Stages of the profiles below, as short as they can be."""

CARDS_OWN = {
    "narrow_link": ("link",),
    "slow_link_under_load": ("link",),
    "cracked_capacitor": ("link",),
    "touching_contacts": ("link",),
    "dead_output": ("display",),
    "bouncing_output": ("display",),
    "damaged_edid": ("display",),
}
"""Scenarios of the card that a bench could have caused as well, and where they show."""
NOBODY_ELSES = {"stuck_memory": ("memory",), "weak_core": ("compute",), "poor_paste": ("paste",)}
"""Scenarios that no bench can cause."""
OF_THE_BENCH = {
    "half_wired_slot": ("the slot",),
    "held_speed": ("set-up",),
    "long_riser": ("the riser",),
    "hung_driver": ("driver",),
    "dark_output": ("cable",),
    "lying_sensor": ("the sensor",),
}
"""Scenarios whose cause is the bench's, and who must be named."""


def profile(*stages: str) -> str:
    head = 'format = 1\ntitle = "Short"\n[guards]\ngpu_temp_limit_c = 95.0\n'
    parts = ['stage = "enumeration"', *(STAGES[name] for name in stages)]
    return head + "".join(f"[[stages]]\n{part}\n" for part in parts)


def scenario(name: str, *, proven: bool | None = None) -> str:
    """The text of a ready-made scenario, its bench said to be proven or not."""
    root = resources.files("burnin.sim")
    folder = "scenarios" if name in scenario_names() else "cause_scenarios"
    text = (root / folder / f"{name}.toml").read_text(encoding="utf-8")
    if proven is None:
        return text
    said = f"bench_proven = {str(proven).lower()}\n"
    text = re.sub(r"^bench_proven.*\n", "", text, flags=re.MULTILINE)
    if re.search(r"^\[bench\]$", text, flags=re.MULTILINE):
        return re.sub(r"^\[bench\]\n", f"[bench]\n{said}", text, count=1, flags=re.MULTILINE)
    return re.sub(r"^\[card\]\n", f"[bench]\n{said}[card]\n", text, count=1, flags=re.MULTILINE)


def contact(at: str, *, above_c: float | None = None, after_s: float | None = None) -> str:
    text = 'name = "contact"\ntitle = "A contact of lane 9"\n[card]\ncooling = "air"\n'
    text += f'[[causes]]\nkind = "contact"\ncontact = "B54"\nstate = "open"\nat = "{at}"\n'
    text += "" if above_c is None else f"above_board_c = {above_c}\n"
    return text + ("" if after_s is None else f"after_s = {after_s}\n")


class Ran:
    """One command, as a technician types it."""

    def __init__(self, profile_text: str, scenario_text: str, *options: str) -> None:
        self.work = Path(mkdtemp(prefix="seen_"))
        (self.work / "profile.toml").write_text(profile_text, encoding="utf-8")
        (self.work / "scenario.toml").write_text(scenario_text, encoding="utf-8")
        given = ["run", "--unattended", "--results", str(self.work / "results"), *options]
        given += ["-p", str(self.work / "profile.toml")]
        done = CliRunner().invoke(app, [*given, "--simulated", str(self.work / "scenario.toml")])
        self.exit_code, self.printed = done.exit_code, done.output

    @property
    def said(self) -> str:
        return re.sub(r"\s+", " ", self.printed)

    @property
    def record(self) -> Record:
        [file] = (self.work / "results").rglob("run.json")
        return read_record(file.parent)

    @property
    def sheet(self) -> str:
        [file] = (self.work / "results").rglob("sheet.html")
        text = re.sub(r"<(style|script).*?</\1>|<[^>]+>", " ", file.read_text(), flags=re.DOTALL)
        return re.sub(r"\s+", " ", unescape(text))


@cache
def ran(profile_text: str, scenario_text: str, *options: str) -> Ran:
    return Ran(profile_text, scenario_text, *options)


@pytest.mark.long
@pytest.mark.parametrize("stage", ["heat", "compute"])
def test_lanes_lost_where_no_stage_looks_at_the_link_are_no_pass(stage: str) -> None:
    done = ran(profile("link", stage), contact("card", above_c=24.5))
    assert done.exit_code == 1
    record = done.record
    assert record.run.verdict is RunVerdict.FAIL
    failed = [r for r in record.readings if r.verdict is Verdict.FAIL]
    assert [(r.stage, r.name) for r in failed] == [(WHOLE_RUN, "whole_run_width_lanes")]
    assert "the link fell to 8 of 16 lanes, first at" in done.said
    assert judge_anew(record).verdict is RunVerdict.FAIL


def test_lanes_lost_under_a_profile_without_any_link_stage_are_no_pass() -> None:
    assert ran(profile("heat"), contact("card", above_c=24.5)).exit_code == 1


def test_lanes_lost_in_the_last_two_seconds_of_traffic_are_no_pass() -> None:
    """Idle for 0.5 s, then proof of the engine for some seconds, then 3 s of traffic."""
    sound = ran(profile("link"), contact("card", after_s=3600.0))
    assert sound.exit_code == 0
    samples = [s for s in sound.record.samples() if s.stage == "2-link"]
    lost = ran(profile("link"), contact("card", after_s=120.0 + samples[-1].elapsed_s - 2.0))
    assert lost.exit_code == 1
    assert lost.record.run.verdict is RunVerdict.FAIL


def test_lanes_that_were_away_for_two_seconds_of_traffic_are_no_pass() -> None:
    """The lane comes back before the stage ends, and the link widens again."""
    sound = ran(profile("link"), contact("card", after_s=3600.0))
    ends_s = max(s.elapsed_s for s in sound.record.samples() if s.stage == "2-link")
    text = contact("card", after_s=120.0 + ends_s - 2.8)
    text = text.replace("[card]\n", "[card]\nregains_width = true\n")
    lost = ran(profile("link"), f"{text}every_s = 1000.0\nfor_s = 2.0\n")
    widths = [s.telemetry.link_width_lanes for s in lost.record.samples()]
    assert widths[-1] == 16.0
    assert 8.0 in widths
    assert lost.exit_code == 1
    [fell] = [r for r in lost.record.readings if r.name == "whole_run_width_lanes"]
    assert fell.reason is not None
    lasted_s = fell.reason["for_s"]
    assert isinstance(lasted_s, float)
    assert 1.8 <= lasted_s <= 2.3


def test_a_link_that_says_sixteen_lanes_and_carries_eight_is_caught() -> None:
    half = 'name = "retimer"\ntitle = "Half"\n[bench]\nretimer_passes = 0.5\n'
    done = ran(profile("link"), f'{half}[card]\ncooling = "air"\n')
    assert done.exit_code == 4
    [share] = [r for r in done.record.readings if r.name == "copy_share_of_payload_limit"]
    assert share.verdict is Verdict.UNSURE
    assert share.required
    widths = {r.value for r in done.record.readings if r.name == "link_width_lanes"}
    assert widths == {16.0}


@pytest.mark.long
def test_what_a_guard_ended_is_not_told_twice() -> None:
    done = ran(profile("heat"), scenario("falls_off_bus"))
    gone = [r for r in done.record.readings if r.name == "whole_run_samples_gone"]
    assert not [r for r in gone if r.verdict is Verdict.FAIL]


@pytest.mark.long
@pytest.mark.parametrize("name", few_short(sorted(CARDS_OWN), {"narrow_link", "dead_output"}))
def test_a_fault_of_the_card_fails_on_a_proven_bench_and_not_on_another(name: str) -> None:
    stages = profile(*CARDS_OWN[name])
    assert ran(stages, scenario(name, proven=True)).exit_code == 1
    done = ran(stages, scenario(name, proven=False))
    assert done.exit_code == 4
    reason = done.record.run.reason
    assert reason.means(VerdictReason.NOT_THE_CARD_ALONE)
    assert "what decides" in done.said
    assert judge_anew(done.record).reason == reason


@pytest.mark.long
@pytest.mark.parametrize("name", few_short(sorted(NOBODY_ELSES), {"poor_paste"}))
def test_what_no_bench_can_cause_fails_on_any(name: str) -> None:
    stages = profile(*NOBODY_ELSES[name])
    assert ran(stages, scenario(name, proven=True)).exit_code == 1
    assert ran(stages, scenario(name, proven=False)).exit_code == 1


@pytest.mark.parametrize("name", few_short(sorted(OF_THE_BENCH), {"half_wired_slot"}))
def test_a_fault_of_the_bench_never_fails_and_is_named(name: str) -> None:
    stages = ("link", "long heat") if name == "hung_driver" else ("display", "link", "paste")
    done = ran(profile(*stages), scenario(name))
    assert done.exit_code in (3, 4)
    assert done.record.run.verdict in (RunVerdict.CONDITIONAL, RunVerdict.ABORTED)
    assert any(word in done.said for word in OF_THE_BENCH[name])


def test_a_spring_of_the_slot_that_lets_go_warm_is_not_laid_to_the_card() -> None:
    done = ran(profile("link", "heat"), contact("slot", above_c=24.5))
    assert done.exit_code == 4
    assert "the slot" in done.said
    assert "put the card into another slot" in done.said


def test_all_ready_made_scenarios_are_known_here_or_elsewhere() -> None:
    """A new scenario must be put where its fault belongs."""
    elsewhere = {
        *("healthy", "healthy_loop", "healthy_x8", "healthy_compute", "healthy_bench_block"),
        *("no_coolant", "fan_stall", "one_fan_stands", "falls_off_bus"),
        # those: tests/run/test_scenarios.py
        *("few_supply_contacts", "intermittent_contact", "missing_sense", "silent_chip"),
        *("warm_memory_line", "wrong_firmware", "cracked_rail_capacitors"),
        *("opens_by_touch", "warm_joint"),  # tests/stages/test_movement.py, test_under_load.py
        *("driver_resets", "gpu_fault", "link_bounces"),  # told by the kernel's log
    }
    named = {*CARDS_OWN, *NOBODY_ELSES, *OF_THE_BENCH, *elsewhere}
    assert {*scenario_names(), *cause_scenario_names()} <= named


@pytest.mark.parametrize("language", ["en", "de"])
def test_screen_json_and_sheet_tell_the_same_parties_words_and_numbers(language: str) -> None:
    text = scenario("narrow_link", proven=False)
    screen = ran(profile("link"), text, "--language", language)
    machine = ran(profile("link"), text, "--json")
    reason = screen.record.run.reason
    sentence = catalogue(language).say(reason)
    assert sentence in screen.said
    assert sentence in screen.sheet
    lines = [json.loads(line) for line in machine.printed.splitlines() if line.startswith("{")]
    [finished] = [line for line in lines if line.get("event") == "RunFinished"]
    told = Meaning.from_plain(finished["reason"])
    assert told == reason
    parties = [part["parties"] for part in told.parts() if part.means(PartyReason.MAY_BE)]
    assert len(parties) == 1
