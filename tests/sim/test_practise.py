from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from burnin.connector.contact_map import contacts
from burnin.core.errors import BadInput
from burnin.sim.bench import scenario_named
from burnin.sim.causes.kinds import ContactCause
from burnin.sim.practise.answers import answers, cause_text, judge_answer, task_text
from burnin.sim.practise.exercise import drawn
from burnin.sim.practise.meter import meter_text
from tests.refusals import refused
from tests.run.driving import run_simulated

seeds = st.integers(0, 100_000)


@settings(deadline=None, max_examples=40)
@given(seed=seeds)
def test_a_seed_draws_the_same_again(seed: int) -> None:
    assert drawn(seed) == drawn(seed) == scenario_named(f"practise:{seed}")


@settings(deadline=None, max_examples=40)
@given(seed=seeds)
def test_the_task_does_not_tell_the_cause(seed: int) -> None:
    told = cause_text(seed)
    scenario = drawn(seed)
    for text in (task_text(seed), scenario.title, scenario.description, scenario.name):
        assert told not in text
        for cause in scenario.causes:
            assert str(getattr(cause, "contact", "no contact")) not in text


@pytest.mark.long
@settings(deadline=None, max_examples=40)
@given(seed=seeds)
def test_some_answer_is_right_for_every_seed(seed: int) -> None:
    every = [*contacts(), *answers(), "DP-1", "DP-2", "DP-3", "HDMI-A-1"]
    found = [answer for answer in every if judge_answer(seed, answer).verdict == "found"]
    assert 1 <= len(found) <= 2


def test_the_right_lane_is_near() -> None:
    seed = next(s for s in range(1000) if drawn(s).causes and drawn(s).causes[0].kind == "contact")
    (cause,) = drawn(seed).causes
    assert cause.kind == "contact"
    contact = contacts()[cause.contact]
    assert judge_answer(seed, f"lane {contact.lane}").verdict == "near"
    assert judge_answer(seed, contact.name.lower()).verdict == "found"
    assert judge_answer(seed, f"lane {(contact.lane or 0) ^ 1}").verdict == "not it"


@pytest.mark.parametrize("answer", ["B83", "lane 16", "gremlin", "", "B54+"])
def test_an_answer_that_names_nothing_is_refused(answer: str) -> None:
    with refused(BadInput, match="names nothing"):
        judge_answer(3, answer)


@pytest.mark.parametrize("name", ["practise:", "practise:x", "practise:-1", "practise:²"])
def test_a_name_without_a_seed_is_refused(name: str) -> None:
    with refused(BadInput, match="comes a whole number"):
        scenario_named(name)


def test_no_file_of_the_record_tells_the_cause(tmp_path: Path) -> None:
    seed = next(s for s in range(1000) if drawn(s).causes and drawn(s).causes[0].kind == "contact")
    (cause,) = drawn(seed).causes
    assert cause.kind == "contact"
    only_link = frozenset({"enumeration", "display", "memory", "compute", "thermal_ramp"})
    ran = run_simulated(f"practise:{seed}", "desktop_air", tmp_path, left_out=only_link)
    facts = json.loads((ran.folder / "run.json").read_text("utf-8"))
    assert facts["simulated"] is True
    assert f"practise_{seed}" in facts["simulated_scenario"]
    for path in ran.folder.iterdir():
        if path.suffix in (".json", ".csv"):
            text = path.read_text("utf-8").replace(str(tmp_path), "")
            assert f'"{cause.contact}"' not in text
            assert re.search(rf"\b{re.escape(cause.state)}\b", text) is None


@settings(deadline=None, max_examples=40)
@given(seed=seeds)
def test_the_meter_parts_the_faulty_contact_from_the_others(seed: int) -> None:
    causes = drawn(seed).causes
    cause = causes[0] if causes else None
    if not isinstance(cause, ContactCause) or cause.above_board_c is not None:
        return
    lanes = [c.name for c in contacts().values() if c.group == contacts()[cause.contact].group]
    lines = {name: meter_text(seed, [name]) for name in lanes}
    odd = {name for name, text in lines.items() if not _sound(text)}
    assert cause.contact in odd
    assert odd <= {cause.contact, cause.neighbour}


def _sound(text: str) -> bool:
    reading = text.split(": ")[1].split()[0]
    return reading[0].isdigit() and 0.38 < float(reading) < 0.40 and "spring" not in text


def test_the_meter_refuses_an_unknown_contact() -> None:
    with refused(BadInput, match="no contact 'B99'"):
        meter_text(1, ["B99"])
