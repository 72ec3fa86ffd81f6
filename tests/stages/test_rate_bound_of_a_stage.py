"""The bound on the error rate, as a whole link check puts it on record: shown, open, refuted."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from burnin.core.events import Noted
from burnin.core.reading import Limit, Reading, Verdict
from burnin.stages.link.error_rate import poisson_upper
from burnin.stages.link.meanings import LinkNote, LinkReason, LinkSource
from burnin.stages.registry import stage_kind
from tests.sim.machines import bench_of, with_causes
from tests.stages import on_bench

WAYS = ("to_card", "to_host")
SETTINGS: dict[str, object] = {
    "width_lanes": 16, "generation": 4, "idle_s": 0.5, "load_s": 4.0, "error_rate_within_s": 4.0,
}  # fmt: skip
RESISTIVE: dict[str, Any] = {
    "kind": "contact", "contact": "B33", "state": "resistive", "ohms": 60.0,
}  # fmt: skip


def checked(
    folder: Path, patch: pytest.MonkeyPatch, rate: float, *causes: dict[str, Any]
) -> tuple[dict[str, Reading], list[Any]]:
    """Readings of a link stage that is asked for a bound, and its notes."""
    scenario = with_causes("healthy", *causes)
    patch.setattr(on_bench, "simulated_bench", lambda _: bench_of(scenario))
    patch.setitem(on_bench.SHORT, "link", SETTINGS | {"error_rate_bound": rate})
    context, events = on_bench.carried_out(stage_kind("link"), folder)
    notes = [event.note for event in events if isinstance(event, Noted)]
    return {r.name: r for r in context.readings}, notes


def test_a_rate_that_few_seconds_can_show_is_shown(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    found, notes = checked(tmp_path, monkeypatch, 1e-9)
    for way in WAYS:
        shown = found[f"error_rate_per_lane {way}"]
        assert (shown.verdict, shown.limit, shown.unit) == (Verdict.PASS, Limit(upper=1e-9), "")
        assert shown.source is not None
        assert shown.source.means(LinkSource.RATE_BOUND)
        bits = shown.source["bits"]
        assert isinstance(bits, float)
        assert shown.value == pytest.approx(poisson_upper(0) / bits)
        assert (shown.source["errors_count"], shown.source["lanes"]) == (0, 16)
        assert shown.source["traffic_s"] == pytest.approx(4.0, abs=0.5)
        mean = found[f"error_rate_average_over_lanes {way}"]
        assert isinstance(shown.value, float)
        assert mean.value == pytest.approx(shown.value / 16)
        assert mean.verdict is None
        assert (mean.source, mean.required, mean.unit) == (LinkSource.MEAN_BOUND(), False, "")
    [counted] = [note for note in notes if note.means(LinkNote.COUNTERS)]
    assert counted["errors"]
    assert not [note for note in notes if note.means(LinkNote.COUNTERS_UNUSABLE)]


def test_a_rate_that_takes_longer_stays_open_and_says_what_is_shown(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    found, _ = checked(tmp_path, monkeypatch, 1e-12)
    for way in WAYS:
        still = found[f"error_rate_per_lane {way}"]
        assert (still.verdict, still.required, still.unit) == (Verdict.NOT_MEASURED, True, "")
        assert still.limit == Limit(upper=1e-12)
        assert still.reason is not None
        assert still.reason.means(LinkReason.RATE_OPEN)
        bound, mean = still.reason["bound"], found[f"error_rate_average_over_lanes {way}"].value
        assert isinstance(bound, float)
        assert mean == pytest.approx(bound / 16)


def test_a_lane_with_many_errors_is_refuted_on_its_way(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    found, _ = checked(tmp_path, monkeypatch, 1e-12, RESISTIVE)
    refuted = found["error_rate_per_lane to_card"]
    errors = found["link_errors to_card"].value
    assert isinstance(errors, float)
    assert errors > 20.0, "the contact must let errors through"
    assert refuted.verdict is Verdict.FAIL
    assert refuted.reason is not None
    assert refuted.reason.means(LinkReason.RATE_REFUTED)
    assert refuted.source is not None
    bits, lanes = refuted.source["bits"], refuted.source["lanes"]
    assert isinstance(bits, float)
    assert isinstance(lanes, int)
    assert refuted.reason["bits"] == pytest.approx(bits * lanes)
    assert refuted.reason["errors_count"] == refuted.source["errors_count"]
    assert refuted.reason["rate"] == 1e-12
    assert found["error_rate_per_lane to_host"].verdict is not Verdict.FAIL
