"""What a run had seen before it was cut still counts when it goes on: words, counters, rows."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from typer.testing import CliRunner

from burnin.cli.app import app
from burnin.core.events import CounterAt, CountersRead, Event, RunStarted, SampleTaken, StageStarted
from burnin.core.reading import Verdict
from burnin.core.sample import Sample, Telemetry
from burnin.core.verdict import RunVerdict
from burnin.profile.loader import load_profile
from burnin.record.reader import read_record
from burnin.record.sums import RUN_FILE
from burnin.stages.whole_run.error_watch import BESIDE_TRAFFIC
from burnin.stages.whole_run.observed import LINK_ERRORS, Observed
from burnin.stages.whole_run.of_record import observed_on
from tests.faults.killed_runs import PROFILE
from tests.faults.simulated_disk import PowerCut
from tests.record import streams
from tests.run.driving import run_simulated

pytestmark = pytest.mark.faults
MEMORY = "3-memory"


def cut_in_memory(results: Path) -> Path:
    """A record whose run was cut while the memory was worked."""
    here = [""]

    def on_event(event: Event) -> None:
        if isinstance(event, StageStarted):
            here[0] = event.stage
        if isinstance(event, SampleTaken) and here[0] == MEMORY and event.sample.load_share > 0:
            raise PowerCut

    with pytest.raises(PowerCut):
        run_simulated("healthy", load_profile(str(PROFILE)), results, on_event=on_event)
    [folder] = (results / "T-1").iterdir()
    return folder


def test_a_word_that_failed_before_the_cut_fails_the_stage_that_is_done_again(
    tmp_path: Path,
) -> None:
    folder = cut_in_memory(tmp_path)
    with (folder / "failing_words.csv").open("a", encoding="utf-8") as words:
        words.write("0x000000001000,0x00000000,0x00000800,0x00000800,solid,1,0\n")
        words.write("0x000000002000,0x000000")  # the power went in the middle of this one
    result = CliRunner().invoke(app, ["run", "--resume", str(folder), "--json"])
    assert result.exit_code == 1, result.output
    record = read_record(folder)
    [failed] = [r for r in record.all_readings if r.verdict is Verdict.FAIL]
    assert (failed.stage, failed.name, failed.value) == (MEMORY, "failing_words", 1.0)
    assert not (*record.condition.edited, *record.condition.damaged)


def test_a_record_that_was_cut_before_its_first_row_is_gone_on_with(tmp_path: Path) -> None:
    folder = cut_in_memory(tmp_path)
    for path in folder.iterdir():
        if path.name != RUN_FILE:
            path.unlink()
    content = read_record(folder).run
    (folder / RUN_FILE).write_text(
        replace_course((folder / RUN_FILE).read_text("utf-8")), encoding="utf-8"
    )
    record = read_record(folder)
    assert record.condition.whole, record.condition.flaws
    assert content.run_id == record.run.run_id
    result = CliRunner().invoke(app, ["run", "--resume", str(folder), "--json"])
    assert result.exit_code == 0, result.output
    assert read_record(folder).run.verdict is RunVerdict.PASS


def replace_course(text: str) -> str:
    """run.json as it was before any stage began."""
    return json.dumps({**json.loads(text), "stages": []})


def stood_at(value: int) -> CountersRead:
    """The event that says what a counter of damaged packets stands at."""
    return CountersRead("", LINK_ERRORS, (CounterAt("card", "bad TLP (correctable)", value),))


def beside(*events: Event) -> float | str | None:
    """The errors of the whole run beside link traffic, as the closing part has them."""
    observed = Observed()
    for event in events:
        observed.event(event)
    for at_s in (0.0, 5.0):
        observed.sample(Sample(at_s, "", "1-compute", Telemetry(), 1.0, None))
    [reading] = [r for r in observed.errors.readings(observed.watch) if r.name == BESIDE_TRAFFIC]
    return reading.value if reading.verdict is not Verdict.NOT_MEASURED else "not measured"


BEGINS = next(event for event in streams.stream() if isinstance(event, RunStarted))
AGAIN = replace(BEGINS, opening=replace(BEGINS.opening, resumed=1))


@pytest.mark.parametrize(
    ("what", "events", "errors"),
    [
        ("counted while it was down", (BEGINS, stood_at(3), AGAIN, stood_at(9)), 6.0),
        ("began anew with the bench", (BEGINS, stood_at(3), AGAIN, stood_at(0)), 0.0),
        ("kept over a restart", (BEGINS, stood_at(1), stood_at(5), AGAIN, stood_at(0)), 4.0),
        ("fell within a part", (BEGINS, stood_at(3), stood_at(0)), "not measured"),
    ],
)
def test_error_counters_go_on_over_a_cut(
    what: str, events: tuple[Event, ...], errors: float | str
) -> None:
    assert beside(*events) == errors, what


def test_what_counters_stood_at_is_read_back_from_the_record(tmp_path: Path) -> None:
    events = streams.stream()
    told = [events[0], stood_at(1), *events[1:-1], stood_at(5), AGAIN, stood_at(7), events[-1]]
    record = read_record(streams.write(tmp_path / "run", told))
    kept = [entry.counters() for entry in record.events(CountersRead.__name__)]
    assert kept == [stood_at(1), stood_at(5), stood_at(7)]
    assert observed_on(record).errors.errors == {"card bad TLP (correctable)": 6}


def test_time_in_which_nobody_watched_is_no_time_without_errors() -> None:
    watched, jumped = Observed(), Observed()
    for at_s in (0.0, 5.0, 10.0):
        watched.sample(Sample(at_s, "", "1-compute", Telemetry(), 1.0, None))
    for at_s in (0.0, 5.0, 36_005.0, 36_010.0):
        jumped.sample(Sample(at_s, "", "1-compute", Telemetry(), 1.0, None))
    for observed in (watched, jumped):
        observed.event(stood_at(0))
        observed.event(stood_at(4))
    limits = [
        [r.limit for r in o.errors.readings(o.watch) if r.name == BESIDE_TRAFFIC]
        for o in (watched, jumped)
    ]
    assert limits[0] == limits[1]
