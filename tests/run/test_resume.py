"""Power cuts: every row up to the cut is there, and the run goes on from it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

from burnin.cli.app import app
from burnin.core.errors import RecordError
from burnin.core.events import Event, SampleTaken, StageStarted
from burnin.record.checksums import write_checksums
from burnin.record.rows import read_facts, read_rows
from burnin.report.make import make_sheet
from burnin.run.resume import read_earlier
from tests.run.driving import run_simulated


class PowerCut(BaseException):
    """Not an Exception: nothing in the tool may catch it, as nothing catches a power cut."""


def cut_in(stage: str, results: Path) -> Path:
    """A record whose run was cut while the stage was loaded."""
    here: list[str] = []
    folders: list[Path] = []

    def on_event(event: Event) -> None:
        if isinstance(event, StageStarted):
            here.append(event.stage)
        if isinstance(event, SampleTaken) and here[-1] == stage and event.sample.load_share > 0:
            raise PowerCut

    with pytest.raises(PowerCut):
        run_simulated("healthy", "desktop_air", results, on_event=on_event)
    folders = sorted((results / "T-1").iterdir())
    return folders[-1]


def test_the_record_holds_all_up_to_the_cut_and_claims_nothing(tmp_path: Path) -> None:
    folder = cut_in("4-memory", tmp_path)
    facts = read_facts(folder)
    assert facts["verdict"] == "incomplete"
    samples = read_rows(folder / "samples.csv")
    assert samples[-1]["stage"] == "4-memory"
    assert float(samples[-1]["load_share"]) > 0
    done = {r["stage"] for r in read_rows(folder / "readings.csv")}
    assert {"1-enumeration", "2-display", "3-link"} <= done


def test_a_resumed_run_repeats_nothing_proven_and_trusts_nothing_in_flight(
    tmp_path: Path,
) -> None:
    folder = cut_in("4-memory", tmp_path)
    before = read_rows(folder / "readings.csv")
    # The cut also tears the last rows of the tables.
    for name in ("samples.csv", "journal.csv"):
        os.truncate(folder / name, (folder / name).stat().st_size - 7)
    result = CliRunner().invoke(app, ["run", "--resume", str(folder), "--json"])
    assert result.exit_code == 0, result.output
    started = [line for line in result.output.splitlines() if '"StageStarted"' in line]
    assert '"4-memory"' in started[0]
    assert len(started) == 4
    rows = read_rows(folder / "readings.csv")
    assert rows[: len(before)] == before
    facts = read_facts(folder)
    assert facts["verdict"] == "pass"
    stages = facts["stages"]
    assert isinstance(stages, list)
    assert [s["stage"] for s in stages] == [
        "1-enumeration",
        "2-display",
        "3-link",
        "4-memory",
        "5-compute",
        "6-thermal_ramp",
        "7-link",
    ]
    assert (folder / "sheet.pdf").exists()


def test_a_finished_run_is_not_resumed(tmp_path: Path) -> None:
    ran = run_simulated("healthy_x8", "short_x8", tmp_path)
    with pytest.raises(RecordError, match="nothing to resume"):
        read_earlier(ran.folder)


def stop_at_load(results: Path) -> Path:
    """A record whose run was stopped by hand, with sheet and checksums, as it is left."""
    asked: list[bool] = []

    def on_event(event: Event) -> None:
        if isinstance(event, SampleTaken) and event.sample.stage == "4-memory":
            asked.append(True)

    ran = run_simulated(
        "healthy", "desktop_air", results, on_event=on_event, stop_asked=lambda: bool(asked)
    )
    make_sheet(ran.folder)
    write_checksums(ran.folder)
    return ran.folder


def test_sheet_and_record_agree_after_a_resume(tmp_path: Path) -> None:
    folder = stop_at_load(tmp_path)
    result = CliRunner().invoke(app, ["run", "--resume", str(folder)])
    assert result.exit_code == 0, result.output
    assert "interrupted and resumed once" in " ".join(result.output.split())
    page = (folder / "sheet.html").read_text()
    assert ">PASS<" in page
    assert "INCOMPLETE" not in page
    assert "resumed once" in page


def test_time_goes_on_rising_after_a_resume(tmp_path: Path) -> None:
    folder = stop_at_load(tmp_path)
    CliRunner().invoke(app, ["run", "--resume", str(folder)])
    times = [float(row["elapsed_s"]) for row in read_rows(folder / "samples.csv")]
    assert times == sorted(times)


def test_a_run_does_not_go_on_from_data_that_was_changed(tmp_path: Path) -> None:
    folder = stop_at_load(tmp_path)
    with (folder / "readings.csv").open("a") as table:
        table.write("\n")
    result = CliRunner().invoke(app, ["run", "--resume", str(folder)])
    assert result.exit_code == 2
    assert "readings.csv changed" in result.output


def test_a_closed_pipe_costs_the_run_nothing(tmp_path: Path) -> None:
    words = ["run", "-p", "short_x8", "--simulated", "healthy_x8", "--results", str(tmp_path)]
    with subprocess.Popen(
        [sys.executable, "-m", "burnin", *words], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
    ) as run:
        assert run.stdout is not None
        run.stdout.readline()
        run.stdout.close()
        assert run.wait(timeout=120) == 0
    [folder] = tmp_path.glob("*/*")
    assert read_facts(folder)["verdict"] == "pass"
    assert (folder / "sheet.pdf").exists()
