"""What a program may use: it is what DEVELOPERS.md says, it works, and it costs nothing unused."""

from __future__ import annotations

import inspect
import re
import subprocess
import sys
from pathlib import Path

import pytest

import burnin
from burnin.core import errors
from burnin.core.events import Event
from burnin.core.reading import NotMeasured

ROOT = Path(burnin.__file__).parents[1]
HEAVY = ("typing", "pydantic", "numpy", "rich", "importlib.metadata", "burnin.core.errors")


def section() -> str:
    """'As a library' of DEVELOPERS.md."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    return text.partition("\n## As a library\n")[2].partition("\n## ")[0]


def test_what_is_documented_is_what_there_is() -> None:
    cells = [line.split("|")[1] for line in section().splitlines() if line.startswith("| `")]
    named = [name for cell in cells for name in re.findall(r"`(\w+)`", cell)]
    assert sorted(named) == burnin.__all__
    assert len(named) == len(set(named))


def test_every_error_of_the_tree_is_in_the_face_and_drawn() -> None:
    own = {
        name
        for name, found in vars(errors).items()
        if inspect.isclass(found) and issubclass(found, errors.BurninError)
    }
    assert len(own) > 15
    faced = {
        name
        for name in burnin.__all__
        if inspect.isclass(getattr(burnin, name))
        and issubclass(getattr(burnin, name), errors.BurninError)
    }
    assert own | {"LoadStopped"} == faced
    drawn = errors.__doc__ or ""
    assert {name for name in faced if re.search(rf"(── |^){name}\b", drawn, re.M)} == faced


@pytest.mark.parametrize("name", burnin.__all__)
def test_each_name_is_there_and_told(name: str) -> None:
    found = getattr(burnin, name)
    assert found is getattr(burnin, name)
    if not inspect.isclass(found) and not inspect.isfunction(inspect.unwrap(found)):
        return  # a union of types
    assert (found.__doc__ or "").strip()


def test_no_other_name_is_there() -> None:
    with pytest.raises(AttributeError, match="nonesuch"):
        getattr(burnin, "nonesuch")  # noqa: B009


def test_importing_it_loads_nothing() -> None:
    script = (
        "import sys; before = set(sys.modules); import burnin;"
        f"print(sorted(m for m in set(sys.modules) - before if m.startswith({HEAVY!r})))"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


def test_the_programs_in_the_documentation_run(tmp_path: Path) -> None:
    programs = re.findall(r"```python\n(.*?)```", section(), re.S)
    assert len(programs) == 2
    said = []
    for program in programs:
        done = subprocess.run(
            [sys.executable, "-W", "error", "-c", program],
            cwd=tmp_path, capture_output=True, text=True,
        )  # fmt: skip
        assert done.returncode == 0, done.stderr
        said.append(done.stdout)
    assert re.search(r"^\d+ readings$", said[0], re.M)
    assert "pass all 6 stages passed" in said[0]
    assert "sheet.pdf" in said[0]
    assert "no such scenario" in said[1]
    assert "gibt es nicht" in said[1]
    [folder] = (tmp_path / "results" / "4711").iterdir()
    assert (folder / "checksums.sha256").exists()


class StopsAtWork:
    """A sink and what it decides: end the run as soon as the card works."""

    name = "stops"

    def __init__(self) -> None:
        self.at_work = False

    def __call__(self, event: Event) -> None:
        sample = getattr(event, "sample", None)
        self.at_work = self.at_work or bool(sample and sample.load_share)

    def close(self) -> None:
        """Nothing is open."""


class SaysNo:
    """A prompter that has no monitor at hand."""

    def __init__(self) -> None:
        self.asked: list[burnin.Prompt] = []

    def ask(self, prompt: burnin.Prompt, timeout_s: float) -> str | NotMeasured:
        assert timeout_s > 0.0
        if prompt.code == "display_picture":
            return "skip"
        self.asked.append(prompt)
        return "no"


def test_a_program_can_answer_prompts_and_end_a_run(tmp_path: Path) -> None:
    sink, prompter = StopsAtWork(), SaysNo()
    outcome = burnin.run_profile(
        "desktop_air",
        options=burnin.Options(simulated="dead_output", seed=2),
        results=tmp_path,
        sinks=[sink],
        prompter=prompter,
        stop_asked=lambda: sink.at_work,
    )
    assert outcome.verdict is burnin.RunVerdict.CONDITIONAL
    assert [prompt["output"] for prompt in prompter.asked] == ["DP-2"]
    verdicts = [stage.verdict for stage in outcome.stages]
    assert verdicts.count(burnin.StageVerdict.NOT_MEASURED) >= 4
    assert isinstance(outcome.reason, burnin.Reason)


def test_what_a_program_cannot_use_is_an_error_of_the_tree(tmp_path: Path) -> None:
    with pytest.raises(burnin.ProfileError):
        burnin.load_profile("nonesuch")
    with pytest.raises(burnin.RecordError):
        burnin.read_record(tmp_path)
    with pytest.raises(burnin.BadInput):
        burnin.catalogue("nonesuch")
    in_the_way = tmp_path / "file"
    in_the_way.write_text("")
    with pytest.raises(burnin.NotFound) as refused:
        burnin.run_profile(
            "short_x8", options=burnin.Options(simulated="healthy_x8"), results=in_the_way
        )
    assert str(in_the_way) in burnin.catalogue().say(refused.value.reason)
