"""A run killed anywhere goes on to the verdict of the whole run, and its record can be signed."""

from __future__ import annotations

import random
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.faults.fault import AFTER, AT_EVENT, BEFORE, HALF, KILL, Fault
from tests.faults.forked import ROOT, Asked, Forks
from tests.faults.killed_runs import Bench, Whole, folder_in, kill_and_go_on, whole_run
from tests.faults.many_kills import SCENARIOS, at_random, every_event
from tests.long import few_short

pytestmark = pytest.mark.faults


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    with Forks() as forks:
        bench = Bench(tmp_path_factory.mktemp("bench"), forks)
        bench.burnin("shop", "--init")
        yield bench


@pytest.fixture(scope="module")
def wholes(bench: Bench, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Whole]:
    """The runs that nothing disturbs."""
    room = tmp_path_factory.mktemp("whole")
    return {name: whole_run(bench, name, room / name) for name in SCENARIOS}


PLACES = [
    ("before the run begins", "healthy", Fault(AT_EVENT, "RunStarted", 1, BEFORE)),
    ("before any table", "healthy", Fault(KILL, "open", 3, BEFORE)),
    ("half of a row", "healthy", Fault(KILL, "write", 40, HALF)),
    ("traffic over", "healthy", Fault(AT_EVENT, "StageFinished", 2, BEFORE)),
    ("words failed, no reading yet", "stuck_memory", Fault(AT_EVENT, "StageFinished", 3, BEFORE)),
    ("before the end", "healthy", Fault(AT_EVENT, "RunFinished", 1, BEFORE)),
    ("after the end", "healthy", Fault(AT_EVENT, "RunFinished", 1, AFTER)),
]
SHORT = ("half of a row",)


@pytest.mark.parametrize(("place", "scenario", "fault"), few_short(PLACES, SHORT))
def test_a_kill_costs_nothing_that_was_used_and_improves_no_verdict(
    bench: Bench, tmp_path: Path, place: str, scenario: str, fault: Fault
) -> None:
    whole = whole_run(bench, scenario, tmp_path / "whole")
    found = kill_and_go_on(bench, whole, fault, tmp_path)
    assert found.died, place
    assert found.well, str(found)


@pytest.mark.many
@pytest.mark.long
def test_a_kill_at_every_named_event(
    bench: Bench, wholes: dict[str, Whole], tmp_path: Path
) -> None:
    for scenario, whole in wholes.items():
        for number, fault in enumerate(every_event(bench, scenario, tmp_path)):
            work = tmp_path / f"{scenario}-{number}"
            work.mkdir()
            found = kill_and_go_on(bench, whole, fault, work)
            assert found.well, str(found)


@pytest.mark.many
@pytest.mark.long
def test_kills_at_random_in_the_run_and_in_its_resume(
    bench: Bench, wholes: dict[str, Whole], tmp_path: Path
) -> None:
    draw = random.Random(14)
    for number in range(40):
        whole = wholes[draw.choice(SCENARIOS)]
        work = tmp_path / str(number)
        work.mkdir()
        first, second = (at_random(draw, whole.calls_count) for _ in range(2))
        found = kill_and_go_on(bench, whole, first, work, again=second)
        assert found.well, str(found)


@pytest.mark.long
def test_of_two_resumes_at_once_one_is_refused(bench: Bench, tmp_path: Path) -> None:
    bench.run("healthy", tmp_path / "results", fault=Fault(AT_EVENT, "StageStarted", 3, AFTER))
    folder = folder_in(tmp_path / "results")
    words = [sys.executable, "-m", "burnin", "run", "--unattended", "--resume", str(folder)]
    with subprocess.Popen(
        [*words, "--pace", "5"], cwd=ROOT, stdout=subprocess.PIPE, text=True
    ) as first:
        assert first.stdout is not None
        first.stdout.readline()
        second = subprocess.run(words, cwd=ROOT, capture_output=True, text=True, check=False)
        assert second.returncode == 2, second.stdout
        assert first.wait(timeout=120) == 0


@pytest.mark.long
@pytest.mark.parametrize("hours", [-30, 30])
def test_a_wall_clock_that_was_stepped_changes_no_verdict(
    bench: Bench, wholes: dict[str, Whole], tmp_path: Path, hours: int
) -> None:
    results = tmp_path / "results"
    bench.run("healthy", results, fault=Fault(AT_EVENT, "StageStarted", 3, AFTER))
    folder = folder_in(results)
    assert folder is not None
    with Forks() as forks:
        code = forks.carry_out(
            Asked(
                ("run", "--unattended", "--resume", str(folder)),
                str(bench.home),
                str(tmp_path / "said"),
                wall_clock_h=hours,
            )
        )
    assert code == 0, (tmp_path / "said").read_text()
