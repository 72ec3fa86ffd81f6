"""Every case of all parts at once holds, or is known to be broken today."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from pathlib import Path

import pytest
from typer.testing import CliRunner

from burnin.cli.app import app
from burnin.core.reading import Verdict
from burnin.engine.job import PartDone, TogetherResult
from burnin.stages.all_at_once.leg import PARTS, Leg
from burnin.stages.all_at_once.together_readings import wrong_together
from tests.others.together.bench import broken, carry_out
from tests.others.together.case import GUARDS, HEAD, Case, cases, params

LIST = Path(__file__).parent / "cases.toml"
STAGES = """
[[stages]]
stage = "thermal_ramp"
steps = [{ load_share = 1.0, hold_s = 2.0 }]
cool_down_s = 0.0
gpu_temp_at_most_c = 95.0
optional = ["cooling_state", "steady_within_k"]
[[stages]]
stage = "all_at_once"
load_s = 1.0
alone_s = 0.1
patterns = ["own_address"]
steps = [{ rate_hz = 1.0, hold_s = 2.0 }]
"""


@pytest.mark.parametrize("case", params(LIST))
def test_the_demand_holds(case: Case, tmp_path: Path) -> None:
    outcome = carry_out(case, tmp_path)
    found = list(broken(case, outcome))
    assert not found, f"{case.what}\n{case.expect}\n{found}\n{outcome.in_words()}"


def test_each_class_has_eight_cases_that_say_why_and_what_they_gave() -> None:
    told = cases(LIST)
    assert len({case.id for case in told}) == len(told)
    for kind in ("not earned", "not due", "lost", "input"):
        assert sum(case.kind == kind for case in told) >= 8, kind
    assert all(case.why and case.expect and case.gave for case in told)


def test_a_part_that_hardly_worked_is_no_pass() -> None:
    """All at once is what is asked: a part that came to nothing beside the others was not there."""
    leg = Leg(rate_hz=0.0)
    parts = [PartDone(name, 1.0 if name == "link" else 1e12, 1e10, 1e10, 0) for name in PARTS]
    leg.result = TogetherResult(60.0, 60.0, 0, tuple(parts), 1 << 30, 3)
    told = {reading.name: reading for reading in wrong_together(leg)}
    assert told["wrong_together compute"].verdict is Verdict.PASS
    assert told["wrong_together link"].verdict is Verdict.NOT_MEASURED


@pytest.fixture
def ticket(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A bench with a ticket of a simulated card and a profile of its own."""
    monkeypatch.chdir(tmp_path)
    for name in ("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_STATE_HOME"):
        monkeypatch.setenv(name, str(tmp_path / name.lower()))
    (tmp_path / "own.toml").write_text(HEAD + GUARDS + STAGES, encoding="utf-8")
    said("shop", "--init")
    said(
        "ticket", "open", "4711", "--simulated", "--customer", "Ottilie Maro",
        "--card", "Corvane Strata 9", "--fault", "no image", "-p", "own.toml",
    )  # fmt: skip
    return tmp_path / "results" / "4711"


def said(*words: str) -> str:
    """What the command says."""
    return CliRunner().invoke(app, list(words)).output


def stepped(ticket: Path) -> Sequence[str]:
    """The rows of steps of power in all runs of a ticket."""
    found = []
    for file in ticket.glob("*/readings.csv"):
        with file.open(encoding="utf-8", newline="") as rows:
            found += [r["reading"] for r in csv.DictReader(rows) if "in_steps" in r["reading"]]
    return found


def test_an_uncured_joint_is_never_stepped(ticket: Path) -> None:
    said("ticket", "repair", "4711", "donor pads", "--contacts", "B14-B15", "--cure", "24h")
    said("run", "--ticket", "4711", "--simulated", "healthy")
    assert len(list(ticket.glob("*/readings.csv"))) == 1
    assert not stepped(ticket)


def test_an_uncured_joint_is_not_stepped_by_now_either(ticket: Path) -> None:
    said("ticket", "repair", "4711", "donor pads", "--contacts", "B14-B15", "--cure", "24h")
    said("run", "--ticket", "4711", "--simulated", "healthy", "--now", "the customer waits")
    assert len(list(ticket.glob("*/readings.csv"))) == 1
    assert not stepped(ticket)


def test_a_ramp_of_an_earlier_run_is_no_ramp_of_the_same_run(ticket: Path) -> None:
    said("run", "--ticket", "4711", "--simulated", "healthy", "--without", "all_at_once")
    said("run", "--ticket", "4711", "--simulated", "healthy")
    assert len(list(ticket.glob("*/readings.csv"))) == 2
    assert not stepped(ticket)
