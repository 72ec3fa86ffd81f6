"""A screen that is lost once while the display check watches fails, and is named."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from burnin.core.reading import Reading, Verdict
from burnin.stages.display.meanings import DisplayReason
from burnin.stages.registry import stage_kind
from tests.sim.machines import bench_of, with_causes
from tests.stages import on_bench

LOST: dict[str, Any] = {
    "kind": "output", "output": "DP-2", "contact": "hot_plug_detect", "state": "open",
}  # fmt: skip


def watched(folder: Path, patch: pytest.MonkeyPatch, *causes: dict[str, Any]) -> dict[str, Reading]:
    """The readings of a display stage that watches for six seconds."""
    scenario = with_causes("healthy", *causes)
    patch.setattr(on_bench, "simulated_bench", lambda _: bench_of(scenario))
    patch.setitem(on_bench.SHORT, "display", {"outputs": 4, "monitors": "all", "watch_s": 6.0})
    context, _ = on_bench.carried_out(stage_kind("display"), folder)
    return {r.name: r for r in context.readings}


def test_screens_that_stay_pass(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    found = watched(tmp_path, monkeypatch)
    for output in ("DP-1", "DP-2"):
        reading = found[f"screen_lost_times {output}"]
        assert (reading.value, reading.verdict) == (0.0, Verdict.PASS)


def test_a_screen_that_was_lost_once_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    once = LOST | {"after_s": 122.0, "every_s": 1000.0, "for_s": 1.5}
    found = watched(tmp_path, monkeypatch, once)
    lost = found["screen_lost_times DP-2"]
    assert (lost.value, lost.verdict, lost.required) == (1.0, Verdict.FAIL, True)
    assert lost.reason == DisplayReason.SCREEN_LOST(output="DP-2", times_count=1, over_s=6.0)
    assert found["screen_lost_times DP-1"].verdict is Verdict.PASS


def test_every_loss_counts(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    found = watched(tmp_path, monkeypatch, LOST | {"after_s": 121.0, "every_s": 2.0, "for_s": 1.0})
    value = found["screen_lost_times DP-2"].value
    assert isinstance(value, float)
    assert value >= 2.0


def test_three_screens_that_go_in_one_beat_are_told_together_and_two_beats_are_not(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    names = ("DP-1", "DP-2", "DP-3")
    beat = {"after_s": 121.5, "every_s": 2.0, "for_s": 0.6}
    strip = [LOST | beat | {"output": name} for name in names]
    found = watched(tmp_path / "strip", monkeypatch, *strip)
    for name in names:
        why = found[f"screen_lost_times {name}"].reason
        assert why is not None
        assert why.means(DisplayReason.LOST_TOGETHER)
        assert why["outputs"] == names
    strip[0] |= {"every_s": 1.3, "for_s": 0.4}
    found = watched(tmp_path / "joints", monkeypatch, *strip)
    for name in names:
        why = found[f"screen_lost_times {name}"].reason
        assert why is not None
        assert why.means(DisplayReason.SCREEN_LOST)
