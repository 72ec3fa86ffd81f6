"""A run that finds no card says who may be at fault and what decides, to people and machines."""

from __future__ import annotations

import json
from pathlib import Path

from typer.testing import CliRunner

from burnin.cli.app import app
from burnin.core.parties import PartyReason, Step
from burnin.record.reader import read_record
from burnin.report.languages.catalogue import catalogue

BENCH = """
name = "a_bench"
title = "A bench"

[bench]
bench_proven = false

[card]
cooling = "air"

[[causes]]
kind = "contact"
contact = "A11"
state = "open"
"""


def test_no_card_names_the_parties_and_the_step(tmp_path: Path) -> None:
    (tmp_path / "bench.toml").write_text(BENCH)
    words = ["run", "-p", "desktop_air", "--unattended", "--json", "--language", "de"]
    words += ["--results", str(tmp_path / "results"), "--simulated", str(tmp_path / "bench.toml")]
    result = CliRunner().invoke(app, words)
    assert result.exit_code == 2
    events = [json.loads(line) for line in result.stdout.splitlines() if line.startswith("{")]
    assert [event["event"] for event in events] == ["RunStarted", "RunFinished"]
    [folder] = (tmp_path / "results").glob("*/*")
    record = read_record(folder)
    why = record.run.owed[-1].reason
    assert why.means(PartyReason.TO_DECIDE)
    assert why["step"] == Step.SEAT_PLUGS(minutes=3)
    assert events[-1]["owed"][-1]["reason"]["code"] == why.code
    assert catalogue("de").say(why) in result.output
