"""A screen that is lost once while the display check watches fails, and is named."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, cast

import pytest

from burnin.card.capabilities import Output
from burnin.card.meanings import CardReason
from burnin.core.reading import NotMeasured, Reading, Verdict
from burnin.stages.display.meanings import DisplayReason
from burnin.stages.display.steady import steady_readings
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


class _Clock:
    """Moves where it is told to: a bench that stands still sees no time pass."""

    def __init__(self) -> None:
        self.now = 0.0

    def monotonic_s(self) -> float:
        return self.now


class _Context:
    """Rests as a stage does, look by look; each look sees what comes next of `seen`."""

    def __init__(self, *seen: tuple[float, tuple[Output, ...] | NotMeasured]) -> None:
        self.clock, self.card, self._seen = _Clock(), self, list(seen)
        self._now: tuple[Output, ...] | NotMeasured = ()

    def outputs(self) -> tuple[Output, ...] | NotMeasured:
        return self._now

    def rest(self, seconds: float, each: Callable[[], None]) -> None:
        end = self.clock.now + seconds
        while self.clock.now < end - 1e-6 and self._seen:
            moved_s, self._now = self._seen.pop(0)
            self.clock.now += moved_s
            each()


def _output(status: str = "connected", forced: str = "") -> tuple[Output, ...]:
    return (Output("DP-1", status, b"", (), "enabled", forced),)


def _steady(*seen: tuple[float, tuple[Output, ...] | NotMeasured]) -> Reading:
    (reading,) = steady_readings(cast(Any, _Context(*seen)), 2.0, ("DP-1",))
    return reading


SEEN = (0.1, _output())


def test_a_bench_that_stood_still_watches_again() -> None:
    still = _steady(SEEN, (6.0, _output()), *[SEEN] * 15)
    assert still.verdict is Verdict.PASS
    later = (*[SEEN] * 10, (0.1, _output("disconnected")), *[SEEN] * 4)
    lost = _steady(SEEN, (6.0, _output()), *later)
    assert lost.verdict is Verdict.FAIL


def test_what_was_never_looked_at_is_no_pass() -> None:
    short = _steady(SEEN, (6.0, _output()))
    assert short.verdict is Verdict.NOT_MEASURED
    assert short.reason is not None
    assert short.reason.means(DisplayReason.WATCHED_TOO_SHORT)


def test_an_output_that_is_shown_no_longer_is_a_screen_lost_with_its_driver() -> None:
    gone = _steady(*[SEEN] * 5, *[(0.1, ())] * 15)
    assert (gone.value, gone.verdict) == (1.0, Verdict.FAIL)
    assert gone.reason == DisplayReason.OUTPUT_GONE(output="DP-1")


def test_a_driver_that_hangs_has_lost_no_screen() -> None:
    silent = NotMeasured(CardReason.NO_ANSWER(seconds=2.0))
    assert _steady(*[SEEN] * 5, *[(0.1, silent)] * 15, *[SEEN] * 30).verdict is Verdict.PASS


def test_an_output_that_a_hand_switched_off_judges_nothing() -> None:
    forced = _steady(*[SEEN] * 5, *[(0.1, _output("disconnected", "off"))] * 15)
    assert forced.verdict is Verdict.NOT_MEASURED
    assert forced.reason == DisplayReason.FORCED(output="DP-1", state="off")
