"""Power cuts: every row up to the cut is there, and the run goes on from it."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

from burnin.cli.app import app
from burnin.core.errors import RecordError
from burnin.core.events import Event, SampleTaken, StageStarted
from burnin.core.verdict import RunVerdict
from burnin.record.reader import read_record
from burnin.record.sums import write_checksums
from burnin.report.make import make_sheet
from burnin.run.resume import read_earlier
from tests.refusals import refused
from tests.run.driving import run_simulated


class PowerCut(BaseException):
    """Not an Exception: nothing in the tool may catch it, as nothing catches a power cut."""


def cut_in(stage: str, results: Path) -> Path:
    """A record whose run was cut while the stage was loaded."""
    here: list[str] = []

    def on_event(event: Event) -> None:
        if isinstance(event, StageStarted):
            here.append(event.stage)
        if isinstance(event, SampleTaken) and here[-1] == stage and event.sample.load_share > 0:
            raise PowerCut

    with pytest.raises(PowerCut):
        run_simulated("healthy", "desktop_air", results, on_event=on_event)
    [folder] = (results / "T-1").iterdir()
    return folder


def test_the_record_holds_all_up_to_the_cut_and_claims_nothing(tmp_path: Path) -> None:
    record = read_record(cut_in("4-memory", tmp_path))
    assert record.run.verdict is RunVerdict.INCOMPLETE
    last = list(record.samples())[-1]
    assert last.stage == "4-memory"
    assert last.load_share > 0
    assert {"1-enumeration", "2-display", "3-link"} <= {r.stage for r in record.all_readings}


@pytest.mark.long
def test_a_resumed_run_repeats_nothing_proven_and_trusts_nothing_in_flight(
    tmp_path: Path,
) -> None:
    folder = cut_in("4-memory", tmp_path)
    before = read_record(folder).all_readings
    # The cut also tears the last rows of the tables.
    for name in ("samples.csv", "journal.csv"):
        os.truncate(folder / name, (folder / name).stat().st_size - 7)
    result = CliRunner().invoke(app, ["run", "--resume", str(folder), "--json"])
    assert result.exit_code == 0, result.output
    events = [json.loads(line) for line in result.output.splitlines()]
    started = [event["stage"] for event in events if event["event"] == "StageStarted"]
    assert started == ["4-memory", "5-compute", "6-thermal_ramp", "7-link", "whole_run"]
    record = read_record(folder)
    assert record.all_readings[: len(before)] == before
    assert record.run.verdict is RunVerdict.PASS
    assert record.run.resumed == 1
    assert [s.stage for s in record.run.stages] == [
        "1-enumeration",
        "2-display",
        "3-link",
        "4-memory",
        "5-compute",
        "6-thermal_ramp",
        "7-link",
        "whole_run",
    ]
    assert (folder / "sheet.pdf").exists()


def test_a_finished_run_is_not_resumed(tmp_path: Path) -> None:
    ran = run_simulated("healthy_x8", "short_x8", tmp_path)
    with refused(RecordError, match="nothing to resume"):
        read_earlier(ran.record)


def test_a_run_does_not_go_on_in_a_record_of_an_older_format(data: Path) -> None:
    record = read_record(data / "records" / "compute_card_cuda")
    assert record.format_read == 1
    with refused(RecordError, match="format 1"):
        read_earlier(record)


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


@pytest.mark.long
def test_sheet_and_record_agree_after_a_resume(tmp_path: Path) -> None:
    folder = stop_at_load(tmp_path)
    result = CliRunner().invoke(app, ["run", "--resume", str(folder)])
    assert result.exit_code == 0, result.output
    assert "interrupted and resumed once" in " ".join(result.output.split())
    page = (folder / "sheet.html").read_text()
    assert ">PASS<" in page
    assert "INCOMPLETE" not in page
    assert "resumed once" in page
    samples = list(read_record(folder).samples())
    times = [sample.elapsed_s for sample in samples]
    assert times == sorted(times)
    assert len(samples) > 100


@pytest.mark.long
def test_a_second_cut_leaves_a_record_that_can_still_be_gone_on_with(tmp_path: Path) -> None:
    """Checksums of the first part must not make the second part's rows look changed."""
    folder = stop_at_load(tmp_path)
    script = (
        "import os, sys\n"
        "from burnin.core import events\n"
        "from burnin.record import writer\n"
        "told = writer.RecordWriter.__call__\n"
        "def cut(self, event):\n"
        "    told(self, event)\n"
        "    if isinstance(event, events.StageStarted): os._exit(9)\n"
        "writer.RecordWriter.__call__ = cut\n"
        "from burnin.cli.app import app\n"
        "app(['run', '--resume', sys.argv[1]])\n"
    )
    cut = subprocess.run([sys.executable, "-c", script, str(folder)], capture_output=True)
    assert cut.returncode == 9, cut.stderr
    result = CliRunner().invoke(app, ["run", "--resume", str(folder)])
    assert result.exit_code == 0, result.output
    assert read_record(folder).run.resumed == 2


def test_a_run_does_not_go_on_from_data_that_was_changed(tmp_path: Path) -> None:
    folder = stop_at_load(tmp_path)
    with (folder / "readings.csv").open("a") as table:
        table.write("\n")
    result = CliRunner().invoke(app, ["run", "--resume", str(folder)])
    assert result.exit_code == 2
    assert "readings.csv was changed since its checksums" in result.output


@pytest.mark.parametrize(
    "more", [[], pytest.param(["--json"], marks=pytest.mark.long)], ids=["on screen", "as JSON"]
)
def test_a_closed_pipe_costs_the_run_nothing(more: list[str], tmp_path: Path) -> None:
    words = ["run", "-p", "short_x8", "--simulated", "healthy_x8", "--results", str(tmp_path)]
    with subprocess.Popen(
        [sys.executable, "-m", "burnin", *words, *more],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
    ) as run:
        assert run.stdout is not None
        run.stdout.readline()
        run.stdout.close()
        assert run.wait(timeout=120) == 0
    [folder] = tmp_path.glob("*/*")
    assert read_record(folder).run.verdict is RunVerdict.PASS
    assert (folder / "sheet.pdf").exists()
