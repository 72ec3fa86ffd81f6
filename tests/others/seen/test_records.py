"""Seen: edited records believed, software passed in a card's place, a profile that asks nothing.

A stage's verdict edited in run.json was believed by --resume; a conditional record edited to pass
was printed as such; software Vulkan passed a profile with the compute stage alone.
"""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from burnin.cli.app import app
from burnin.core.events import Event, SampleTaken
from burnin.core.verdict import OwedWhat, RunVerdict
from burnin.record.reader import read_record
from burnin.record.sums import write_checksums
from burnin.replay.verdicts import judge_anew
from burnin.run.reasons import RunReason
from tests.run.driving import run_simulated

GUARDS = "\n[guards]\ngpu_temp_limit_c = 95.0\n\n"
LINK_AND_HEAT = (
    'format = 1\ntitle = "Link, then heat"\n' + GUARDS + '[[stages]]\nstage = "link"\n'
    'width_lanes = 16\ngeneration = 4\nload_s = 2.0\n\n[[stages]]\nstage = "thermal_ramp"\n'
    "steps = [{ load_share = 0.5, hold_s = 5.0 }]\ncool_down_s = 1.0\n"
)
COMPUTE_ALONE = (
    'format = 1\ntitle = "Arithmetic alone"\n' + GUARDS + '[[stages]]\nstage = "compute"\n'
    "load_s = 1.0\n"
)
NO_OUTPUTS = (
    'format = 1\ntitle = "No outputs, and nothing else"\n' + GUARDS + '[[stages]]\n'
    'stage = "display"\noutputs = 0\n'
)


def burnin(*words: str | Path) -> tuple[int, str]:
    """Exit code and everything that was said, its line breaks taken out."""
    done = CliRunner().invoke(app, [str(word) for word in words])
    return done.exit_code, " ".join(done.output.split())


class PowerCut(BaseException):
    """Nothing in the tool may catch it."""


@pytest.fixture(scope="module")
def cut(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A record whose link stage failed (eight lanes of sixteen), cut while the heat was on."""
    place = tmp_path_factory.mktemp("cut")
    profile = place / "link_heat.toml"
    profile.write_text(LINK_AND_HEAT)

    def on_event(event: Event) -> None:
        if isinstance(event, SampleTaken) and event.sample.stage.endswith("thermal_ramp"):
            raise PowerCut

    with pytest.raises(PowerCut):
        run_simulated("narrow_link", str(profile), place / "results", on_event=on_event)
    [run_file] = (place / "results").rglob("run.json")
    return run_file.parent


@pytest.fixture
def record(cut: Path, tmp_path: Path) -> Path:
    """A copy of it to be edited."""
    return Path(shutil.copytree(cut, tmp_path / "record"))


def edit_run(folder: Path, edit: Callable[[dict[str, Any]], None]) -> None:
    """Change run.json as a person with a text editor could."""
    content = json.loads((folder / "run.json").read_text())
    edit(content)
    (folder / "run.json").write_text(json.dumps(content, indent=1) + "\n")


def edit_rows(file: Path, edit: Callable[[dict[str, str]], None]) -> None:
    """Change the rows of a table."""
    text = file.read_text()
    rows = list(csv.DictReader(io.StringIO(text)))
    for row in rows:
        edit(row)
    out = io.StringIO()
    writer = csv.DictWriter(out, text.splitlines()[0].split(","), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    file.write_text(out.getvalue())


def all_stages_pass(run: dict[str, Any]) -> None:
    for stage in run["stages"]:
        if stage["verdict"] == "fail":
            stage.update(verdict="pass", reasons=[])


def test_the_untouched_record_is_gone_on_with_and_fails(record: Path) -> None:
    code, _ = burnin("run", "--resume", record)
    assert code == 1
    assert read_record(record).run.verdict is RunVerdict.FAIL


def test_a_stage_that_was_edited_to_pass_is_not_believed_by_resume(record: Path) -> None:
    edit_run(record, all_stages_pass)
    code, told = burnin("run", "--resume", record)
    assert code == 2
    assert "run.json disagrees with the journal about the stages 1-link" in told


def test_readings_edited_with_it_are_not_believed_either(record: Path) -> None:
    def good(row: dict[str, str]) -> None:
        if row["verdict"] == "fail":
            row.update(value=row["lower_limit"], verdict="pass", reason="", reason_data="")

    edit_run(record, all_stages_pass)
    edit_rows(record / "readings.csv", good)
    write_checksums(record)
    code, told = burnin("run", "--resume", record)
    assert code == 2
    assert "readings.csv was edited: from line" in told


def test_a_profile_loosened_inside_the_record_is_not_gone_on_under(record: Path) -> None:
    def loosen(run: dict[str, Any]) -> None:
        run["profile"]["text"] = run["profile"]["text"].replace("= 16", "= 1")

    edit_run(record, loosen)
    code, told = burnin("run", "--resume", record)
    assert code == 2
    assert "run.json disagrees with the journal in what the run began with" in told


def test_a_record_without_its_chain_is_not_gone_on_with(record: Path) -> None:
    for name in ("readings.csv", "samples.csv", "not_read.csv", "journal.csv"):
        text = (record / name).read_text()
        (record / name).write_text(re.sub(r",(chain|[0-9a-f]{16})\n", "\n", text))
    assert not read_record(record).condition.chained
    code, told = burnin("run", "--resume", record)
    assert code == 2
    assert "without a chain over its rows" in told


def test_a_conditional_record_edited_to_pass_is_not_printed_as_pass(tmp_path: Path) -> None:
    ran = run_simulated("healthy", "desktop_air", tmp_path, stop_asked=_after(80))
    assert ran.outcome.verdict is RunVerdict.CONDITIONAL

    def passed(run: dict[str, Any]) -> None:
        run.update(verdict="pass", owed=[], ended="done")
        run["reason"] = {"code": "all_stages_passed", "stages_count": 7}
        for stage in run["stages"]:
            stage.update(verdict="pass", reasons=[])

    edit_run(ran.folder, passed)
    write_checksums(ran.folder)
    judged = judge_anew(read_record(ran.folder))
    assert judged.verdict is not RunVerdict.PASS
    assert judged.disagreements
    code, _ = burnin("sheet", ran.folder)
    assert code == 0
    page = (ran.folder / "sheet.html").read_text()
    assert ">SIMULATED INCOMPLETE<" in page
    assert "SIMULATED PASS" not in page


def _after(calls: int) -> Callable[[], bool]:
    left = iter(range(calls))
    return lambda: next(left, None) is None


def test_software_passes_no_card_whatever_the_profile(tmp_path: Path) -> None:
    profile = tmp_path / "compute_alone.toml"
    profile.write_text(COMPUTE_ALONE)
    words = ("run", "--unattended", "--software-vulkan", "-p", profile, "--results", tmp_path)
    code, told = burnin(*words)
    assert code == 4, told
    [folder] = (path.parent for path in tmp_path.rglob("run.json"))
    run = read_record(folder).run
    assert run.verdict is RunVerdict.CONDITIONAL
    assert [(work.what, work.reason) for work in run.owed] == [
        (OwedWhat.WHOLE_RUN(), RunReason.SOFTWARE_WORKS_PROCESSOR())
    ]
    assert '<h1 class="verdict dashed">CONDITIONAL</h1>' in (folder / "sheet.html").read_text()


@pytest.mark.parametrize("words", [("profiles", "check"), ("run", "--simulated", "healthy", "-p")])
def test_a_profile_that_judges_nothing_is_refused(tmp_path: Path, words: tuple[str, ...]) -> None:
    profile = tmp_path / "nothing.toml"
    profile.write_text(NO_OUTPUTS)
    code, told = burnin(*words, profile)
    assert code == 2
    assert "no stage of this profile judges anything of a card" in told


@pytest.mark.long
def test_a_simulated_run_ends_in_its_own_word_everywhere(tmp_path: Path) -> None:
    words = ("run", "--unattended", "-p", "short_x8", "--simulated", "healthy_x8")
    code, told = burnin(*words, "--results", tmp_path / "a")
    assert code == 0
    assert "SIMULATED pass" in told
    [folder] = (path.parent for path in (tmp_path / "a").rglob("run.json"))
    for table in ("readings.csv", "samples.csv", "not_read.csv", "journal.csv"):
        assert ",SIMULATED," in (folder / table).read_text().splitlines()[0]
    assert ">SIMULATED PASS<" in (folder / "sheet.html").read_text()
    assert "SIMULATED PASS" in (folder / "plots.html").read_text()
    assert json.loads((folder / "run.json").read_text())["simulated"] is True
    code, told = burnin(*words, "--results", tmp_path / "b", "--json")
    assert code == 0
    assert '"word": "simulated pass"' in told
