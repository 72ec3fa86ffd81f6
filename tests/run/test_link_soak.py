"""The link soak: ends when its bound is shown or refuted, and goes on after a power cut."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from burnin.cli.app import app
from burnin.core.events import Event, TrafficSummed
from burnin.core.verdict import RunVerdict
from burnin.record.reader import read_record
from tests.run.driving import run_simulated
from tests.run.test_resume import PowerCut


def soaks(folder: Path) -> list[Any]:
    """Sums of traffic as the journal has them, oldest first."""
    return [entry.detail for entry in read_record(folder).events("TrafficSummed")]


@pytest.mark.long
def test_a_sound_link_is_shown_and_the_soak_ends(tmp_path: Path) -> None:
    ran = run_simulated("healthy", "link_soak", tmp_path)
    assert ran.outcome.verdict is RunVerdict.PASS
    found = {r.name: r.value for r in ran.record.readings}
    for way in ("to_card", "to_host"):
        bound = found[f"error_rate_per_lane {way}"]
        average = found[f"error_rate_average_over_lanes {way}"]
        assert isinstance(bound, float)
        assert isinstance(average, float)
        assert 0.9e-12 < bound <= 1e-12
        assert average == pytest.approx(bound / 16)
    last = soaks(ran.folder)[-1]
    # -ln(0.05)/1e-12 bits on each of 16 lanes (JEDEC-style zero-failure bound), each way.
    for way in ("to_card_bytes", "to_host_bytes"):
        assert last[way] * 8 / 16 == pytest.approx(2.9957e12, rel=0.05)


def test_a_bad_link_is_refuted_early(tmp_path: Path) -> None:
    ran = run_simulated("slow_link_under_load", "link_soak", tmp_path)
    assert ran.outcome.verdict is RunVerdict.FAIL


@pytest.mark.long
def test_a_soak_goes_on_from_the_traffic_already_done(tmp_path: Path) -> None:
    seen: list[TrafficSummed] = []

    def on_event(event: Event) -> None:
        if isinstance(event, TrafficSummed):
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
