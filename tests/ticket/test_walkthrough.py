"""One ticket from intake to handover on the simulated machine, one command a step.

A short is found and mended, a stage is put off, a joint cures and nothing warms it until then,
three cold starts are made with one hang in between, and the right sheet is there at each point.
"""

from __future__ import annotations

import datetime as real
import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader
from typer.testing import CliRunner

from burnin.card.files import HostFiles
from burnin.cli.app import app
from burnin.core.reading import NotMeasured
from burnin.sim import clock as simulated_clock
from burnin.stages.boot import Boot, read_boot
from burnin.stages.cold_starts import stage as cold_start_stage
from burnin.ticket.handover.signing import verify
from burnin.ticket.log import both_clocks
from burnin.ticket.log import days_and_spans as moments

VALUES = """point,value,unit
supply_12v,420,Ω
supply_3v3,310,Ω
supply_core,0.4,Ω
B14-trace,0.2,Ω
B15-trace,0.2,Ω
B13-B14,OL,
B14-B15,OL,
B15-B16,OL,
"""
SUPPLIES = "point,value,unit\nsupply_12v,420,Ω\nsupply_3v3,310,Ω\nsupply_core,0.4,Ω\n"


class PowerCut(BaseException):
    """Not an Exception: nothing in the tool may catch it, as nothing catches a power cut."""


class Calendar:
    """Lets days go by: what the tool takes for the present moment lies `hours` ahead."""

    hours = 0.0

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        calendar = self

        class Shifted(real.datetime):
            @classmethod
            def now(cls, tz: real.tzinfo | None = None) -> Any:
                return real.datetime.now(tz) + real.timedelta(hours=calendar.hours)

        def both_later() -> Boot | NotMeasured:
            boot = read_boot(HostFiles())
            if isinstance(boot, NotMeasured):
                return boot
            return replace(boot, uptime_s=boot.uptime_s + 3600.0 * calendar.hours)

        monkeypatch.setattr(both_clocks, "read_boot", lambda _: both_later())
        monkeypatch.setattr(moments, "datetime", Shifted)
        monkeypatch.setattr(simulated_clock, "datetime", Shifted)


class Shop:
    """Somebody at the bench who types."""

    def __init__(self, folder: Path) -> None:
        self.results, self._boots = folder / "results", 0

    def types(self, *words: str, code: int = 0) -> str:
        named = [*words, "--results", str(self.results)]
        command = named if words[0] != "shop" else list(words)
        result = CliRunner().invoke(app, command, catch_exceptions=False)
        assert result.exit_code == code, result.output
        return result.output

    def runs(self, code: int, scenario: str = "healthy") -> str:
        """A run after a fresh start of the bench: each seed is a boot of its own."""
        self._boots += 1
        seed = str(self._boots)
        command = ("run", "--ticket", "4711", "--simulated", scenario, "--seed", seed)
        return self.types(*command, code=code)

    def sheet(self) -> str:
        """The customer's sheet as handed over last."""
        folder = sorted((self.results / "4711").glob("handover-*"))[-1]
        assert verify(folder).good
        pages = PdfReader(folder / "customer.pdf").pages
        assert len(pages) == 1
        return re.sub(r"\s+", " ", pages[0].extract_text())

    def stages_of_last_run(self) -> dict[str, str]:
        path = max((self.results / "4711").glob("*/run.json"), key=lambda p: p.stat().st_mtime_ns)
        facts = json.loads(path.read_text("utf-8"))
        return {stage["kind"]: stage["verdict"] for stage in facts["stages"]}


@pytest.fixture
def calendar(monkeypatch: pytest.MonkeyPatch) -> Calendar:
    """Days that a test lets go by."""
    return Calendar(monkeypatch)


@pytest.mark.long
def test_a_ticket_from_intake_to_handover(
    tmp_path: Path, calendar: Calendar, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench = Shop(tmp_path)
    bench.types("shop", "--init")

    told = bench.types(
        "ticket", "open", "4711", "--customer", "Ottilie Maro", "--card", "Corvane Strata 9",
        "--fault", "no image after a fall", "--profile", "repaired_desktop",
        "--seen", "B14-B15 missing", "--seen", "bracket bent", "--simulated",
    )  # fmt: skip
    assert "Next: burnin measure 4711" in told
    bench.types("ticket", "repair", "4711", "donor pads", "--contacts", "B14-B15", "--cure", "24h")

    # A short keeps power off, and an honest sheet can be had at any time.
    assert "NO POWER" in bench.types("measure", "4711", "supply_12v", "1.1 Ω", code=1)
    assert "reads 1.1 Ω" in bench.runs(code=2)
    bench.types("handover", "4711")
    assert "NOT TESTED" in bench.sheet()
    calendar.hours = 0.1
    bench.types("ticket", "repair", "4711", "shorted capacitor C412 taken off")
    assert "no power" in bench.runs(code=2)
    (tmp_path / "values.csv").write_text(VALUES, "utf-8")
    told = bench.types("measure", "4711", "--from", str(tmp_path / "values.csv"))
    assert "Next: burnin run --ticket 4711" in told

    answers = ("smoke=no", "beeps=1", "fans=yes", "image screen=yes")
    bench.types("ticket", "light", "4711", *(w for a in answers for w in ("--answer", a)))
    why = "thermal pads for the memory come on Thursday"
    bench.types("ticket", "defer", "4711", "thermal_ramp", why, "--from", "48h")

    # First run: while the joint cures nothing may warm it; the rest is done.
    bench.runs(code=4)
    stages = bench.stages_of_last_run()
    assert stages["enumeration"] == "pass"
    assert all(stages[kind] == "not measured" for kind in ("cold_starts", "link", "memory"))
    bench.types("handover", "4711")
    sheet = bench.sheet()
    assert "PASSED SO FAR" in sheet
    assert f"Heat under rising load: {why}" in sheet
    assert "donor pads: cured for" in sheet

    # Next day it is cured. Two cold starts; then the bench hangs in the third.
    calendar.hours = 25.0
    assert "cold start 1 of 3" in " ".join(bench.runs(code=4).split())
    calendar.hours = 25.5
    assert "cold start 2 of 3" in " ".join(bench.runs(code=4).split())
    calendar.hours = 25.8
    assert "cold start 3 of 3" in " ".join(bench.runs(code=4).split())
    calendar.hours = 26.0
    with monkeypatch.context() as cut:
        cut.setattr(cold_start_stage, "judged", _hang)
        with pytest.raises(PowerCut):
            bench.runs(code=4)
    calendar.hours = 26.2
    assert "ended in a crash or hang" in " ".join(bench.runs(code=1).split())
    bench.types("handover", "4711")
    assert "FAIL" in bench.sheet()

    # The cause is found; what was shown before the repair is shown again.
    calendar.hours = 27.0
    bench.types("ticket", "repair", "4711", "loose power plug of the card crimped anew")
    (tmp_path / "values.csv").write_text(SUPPLIES, "utf-8")
    bench.types("measure", "4711", "--from", str(tmp_path / "values.csv"))
    for start in range(3):
        calendar.hours = 27.5 + start * 0.5
        bench.runs(code=4)
    assert bench.stages_of_last_run()["cold_starts"] == "pass"
    listed = json.loads(bench.types("tickets", "--json"))[0]
    assert [o["what"] for o in listed["owed"]] == [
        {"code": "owed_stage", "stage": {"code": "stage_thermal_ramp"}},
    ]

    # On Thursday a colleague does just what is owed, and the sheet is complete.
    calendar.hours = 49.0
    told = bench.runs(code=0)
    assert "7 of 7" in told
    assert set(bench.stages_of_last_run().values()) == {"pass"}
    told = bench.types("handover", "4711")
    assert "Ticket 4711 is closed." in told
    sheet = bench.sheet()
    assert "PASS" in sheet
    assert "PASSED SO FAR" not in sheet
    for words in ("donor pads (contacts B14, B15)", "3 cold starts", "ray tracing units"):
        assert words in sheet
    assert bench.types("tickets") == "No open ticket.\n"


def _hang(*_: object) -> None:
    raise PowerCut
