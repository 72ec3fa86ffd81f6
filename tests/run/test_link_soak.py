"""The link soak: ends when its bound is shown or refuted, and goes on after a power cut."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from burnin.cli.app import app
from burnin.core.events import Event, Noted
from burnin.record.rows import read_rows
from burnin.stages.link.traffic import SOAK_NOTE
from tests.run.driving import run_simulated
from tests.run.test_resume import PowerCut


def soaks(folder: Path) -> list[dict[str, float]]:
    journal = read_rows(folder / "journal.csv")
    rows = [json.loads(r["detail"]) for r in journal if r["event"] == "Noted"]
    return [row["detail"] for row in rows if row["text"] == SOAK_NOTE]


def readings(folder: Path) -> dict[str, dict[str, str]]:
    return {r["reading"]: r for r in read_rows(folder / "readings.csv")}


def test_a_sound_link_is_shown_and_the_soak_ends(tmp_path: Path) -> None:
    ran = run_simulated("healthy", "link_soak", tmp_path)
    assert ran.outcome.verdict == "pass"
    found = readings(ran.folder)
    for way in ("to_card", "to_host"):
        reading = found[f"error_rate_per_lane {way}"]
        assert 0.9e-12 < float(reading["value"]) <= 1e-12
        average = float(found[f"error_rate_average_over_lanes {way}"]["value"])
        assert average == pytest.approx(float(reading["value"]) / 16)
    last = soaks(ran.folder)[-1]
    # -ln(0.05)/1e-12 bits on each of 16 lanes (JEDEC-style zero-failure bound), each way.
    for way in ("to_card_bytes", "to_host_bytes"):
        assert last[way] * 8 / 16 == pytest.approx(2.9957e12, rel=0.05)


def test_a_bad_link_is_refuted_early(tmp_path: Path) -> None:
    ran = run_simulated("slow_link_under_load", "link_soak", tmp_path)
    assert ran.outcome.verdict == "fail"


def test_a_soak_goes_on_from_the_traffic_already_done(tmp_path: Path) -> None:
    seen: list[Noted] = []

    def on_event(event: Event) -> None:
        if isinstance(event, Noted) and event.text == SOAK_NOTE:
            seen.append(event)
            if len(seen) == 2:
                raise PowerCut

    with pytest.raises(PowerCut):
        run_simulated("healthy", "link_soak", tmp_path, on_event=on_event)
    [folder] = (tmp_path / "T-1").iterdir()
    done = soaks(folder)[-1]
    result = CliRunner().invoke(app, ["run", "--resume", str(folder), "--json"])
    assert result.exit_code == 0, result.output
    after = soaks(folder)[2:]
    assert after[0]["to_card_bytes"] > done["to_card_bytes"]
    assert after[-1]["to_card_bytes"] * 8 / 16 == pytest.approx(2.9957e12, rel=0.05)
