"""What was evaluated is what runs: every caller of the one factory gets the same set (law 17)."""

from __future__ import annotations

import ast
import io
from dataclasses import replace
from pathlib import Path

import pytest

import burnin
from burnin.core.reading import known
from burnin.core.sample import Sample
from burnin.guard.factory import GuardFacts, make_guards
from burnin.guard.guard_set import GuardSet
from burnin.profile.guards import Guards
from burnin.profile.loader import LoadedProfile, load_profile, profile_names
from burnin.record.reader import Record
from burnin.replay.case import case_of_record, case_of_recording
from burnin.replay.judging import Judging
from burnin.replay.recording_file import open_recording
from tests.evaluation import cooling, late, narrow, planned, recorded
from tests.evaluation.scenarios import Scenario, play
from tests.run.driving import Ran, run_simulated

SCENARIO = {
    "passive_compute": "healthy_compute",
    "short_x8": "healthy_x8",
    "water_loop": "healthy_loop",
    "water_no_loop": "healthy_bench_block",
}
"""A card of the profile's class; all else is tried on the healthy desktop card."""
TOLD_BY_SCENARIO = {
    "gpu_temp_limit_c", "hotspot_temp_limit_c", "cooling", "plan", "ambient_c", "hotspot_seen",
}  # fmt: skip
"""What a scenario itself knows; it goes before the profile."""
Told = dict[str, dict[str, object]]


@pytest.fixture(scope="module")
def scenario() -> Scenario:
    return play(1, seed=12)[0]


class Asked:
    """A short run of each profile, and the set of guards that it made, each made once."""

    def __init__(self, folder: Path, patch: pytest.MonkeyPatch) -> None:
        self._folder, self._patch = folder, patch
        self._done: dict[str, tuple[Ran, GuardSet]] = {}

    def run(self, name: str) -> tuple[Ran, GuardSet]:
        if name not in self._done:
            made: list[GuardSet] = []

            def spy(settings: Guards, facts: GuardFacts | None = None) -> GuardSet:
                made.append(make_guards(settings, facts))
                return made[-1]

            self._patch.setattr("burnin.run.conduct.make_guards", spy)
            ran = run_simulated(
                SCENARIO.get(name, "healthy"), _short(load_profile(name)), self._folder / name
            )
            assert len(made) == 1, "a run makes one set of guards"
            self._done[name] = ran, made[0]
        return self._done[name]


def _short(loaded: LoadedProfile) -> LoadedProfile:
    """The same guards, and two seconds of work."""
    [work] = [s for s in load_profile("desktop_air").profile.stages if s.stage == "compute"]
    brief = work.model_copy(update={"load_s": 2.0})
    return replace(loaded, profile=loaded.profile.model_copy(update={"stages": (brief,)}))


@pytest.fixture(scope="module")
def asked(tmp_path_factory: pytest.TempPathFactory) -> Asked:
    with pytest.MonkeyPatch.context() as patch:
        return Asked(tmp_path_factory.mktemp("runs"), patch)


def csv_of(record: Record) -> str:
    """The record's samples as a recording that says nothing of itself."""
    columns = ("gpu_temp_c", "power_w", "hotspot_temp_c")
    samples = list(record.samples())
    there = [c for c in columns if any(known(getattr(s.telemetry, c)) is not None for s in samples)]

    def cells(sample: Sample) -> list[str]:
        values = (known(getattr(sample.telemetry, c)) for c in there)
        return [f"{sample.elapsed_s:g}", *("" if v is None else f"{v:g}" for v in values)]

    return "\n".join([",".join(["time_s", *there]), *(",".join(cells(s)) for s in samples), ""])


def without(told: Told, names: set[str]) -> Told:
    return {
        guard: {name: value for name, value in said.items() if name not in names}
        for guard, said in told.items()
    }


@pytest.mark.parametrize("name", profile_names())
def test_run_replay_and_evaluations_make_the_same_set(
    name: str, asked: Asked, scenario: Scenario, tmp_path: Path
) -> None:
    ran, of_run = asked.run(name)
    loaded = load_profile(name)
    told = of_run.settings()
    assert {"lost_card", "stale_data", "gpu_limit", "rate_limit", "heat_throttle"} <= set(told)
    assert ("forecast" in told) == loaded.profile.guards.forecast
    assert Judging(case_of_record(ran.record)).guards.settings() == told
    assert Judging(case_of_record(ran.record, loaded)).guards.settings() == told
    text = csv_of(ran.record)
    recording = open_recording("run.csv", io.StringIO(text))
    case = case_of_recording(recording, loaded.profile.guards, name)
    assert Judging(case).guards.settings() == told
    if not loaded.profile.guards.forecast:
        return
    file = tmp_path / "run.csv"
    file.write_text(text, encoding="utf-8")
    assert recorded.judging_of(file, name).guards.settings() == told
    bare = without(told, TOLD_BY_SCENARIO)
    for of_evaluation in (
        cooling.judging_of(scenario, name).guards,
        planned.guards_of(scenario.setting, name),
    ):
        evaluated = without(of_evaluation.settings(), TOLD_BY_SCENARIO)
        if "hotspot_limit" not in bare:  # the scenario may name a limit of its own
            evaluated.pop("hotspot_limit", None)
        assert evaluated == bare


def test_the_same_without_a_profile(scenario: Scenario, tmp_path: Path) -> None:
    recording = open_recording("x.csv", io.StringIO("time_s,power_w,gpu_temp_c\n0,100,40\n"))
    told = without(Judging(case_of_recording(recording)).guards.settings(), TOLD_BY_SCENARIO)
    assert {"forecast", "stuck_sensor", "gpu_limit", "rate_limit"} <= set(told)
    evaluated = without(cooling.judging_of(scenario).guards.settings(), TOLD_BY_SCENARIO)
    evaluated.pop("hotspot_limit", None)  # the scenario may name a limit of its own
    assert evaluated == told
    room = without(planned.guards_of(scenario.setting).settings(), TOLD_BY_SCENARIO)
    assert room["forecast"].pop("forecast_margin_c") == planned.KEPT_FREE_K
    assert told["forecast"].pop("forecast_margin_c") == 0.0
    assert room["forecast"] == told["forecast"]
    file = tmp_path / "x.csv"
    file.write_text("time_s,power_w,gpu_temp_c\n0,100,40\n", encoding="utf-8")
    assert set(recorded.judging_of(file, None).guards.settings()) == set(told)


def test_the_other_evaluations_judge_by_the_first_ones_guards() -> None:
    for module in (late, narrow):
        assert vars(module)["judge"] is cooling.judge


def test_nobody_but_the_factory_makes_a_guard() -> None:
    """In the package no other file calls a guard's class, and every caller asks the factory."""
    classes = {
        "ForecastGuard", "TemperatureLimit", "RateLimit", "SustainedOver", "HeatThrottle",
        "LostCard", "StaleData", "StuckSensor",
    }  # fmt: skip
    package = Path(burnin.__file__).parent
    made: list[str] = []
    asking: set[str] = set()
    for file in package.rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                if node.func.id in classes and file.parent.name != "guard":
                    made.append(f"{file}: {node.func.id}")
                if node.func.id == "make_guards":
                    asking.add(str(file.relative_to(package)))
    assert not made
    assert asking == {"run/conduct.py", "replay/judging.py"}


def test_a_recording_that_names_its_limit_goes_before_the_profile() -> None:
    text = "# limit_c = 66\n# cooling = stream\ntime_s,power_w,gpu_temp_c\n0,100,40\n"
    settings = load_profile("desktop_air").profile.guards
    case = case_of_recording(open_recording("x.csv", io.StringIO(text)), settings)
    told = Judging(case).guards.settings()
    assert told["gpu_limit"]["gpu_temp_limit_c"] == 66.0
    assert told["forecast"]["gpu_temp_limit_c"] == 66.0
    assert told["forecast"]["cooling"] == "stream"
    assert told["forecast"]["hotspot_seen"] is False
