"""Cold starts: state outlives power-off, each start is proven, a hang is counted."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from burnin.stages.cold_starts.start_log import (
    Boot,
    StartsSoFar,
    alive,
    begin,
    judged,
    so_far,
    what_next,
)
from tests.ticket.tickets import at

GO_ON = "burnin run --ticket 4711"


class Bench:
    """A bench that is switched off and on; time passes as a test says."""

    def __init__(self, path: Path) -> None:
        self.path, self.now, self.count = path, at(0), 0
        self.booted = self.now - timedelta(seconds=60)

    @property
    def boot(self) -> Boot:
        return Boot(f"boot-{self.count}", (self.now - self.booted).total_seconds())

    def restart(self, off_s: float = 60.0) -> None:
        self.count += 1
        self.booted = self.now + timedelta(seconds=off_s)
        self.now = self.booted + timedelta(seconds=40)

    def begin(self, reseated: bool = False) -> None:
        begin(self.path, self.boot, self.now, off_at_least_s=30.0, reseated=reseated)

    def judge(self, verdict: str = "pass", reason: str = "") -> None:
        self.now += timedelta(seconds=5)
        judged(self.path, self.boot, verdict, reason, self.now)

    def start(self, verdict: str = "pass", reseated: bool = False) -> None:
        self.restart()
        self.begin(reseated)
        self.judge(verdict)

    def seen(self) -> StartsSoFar:
        return so_far(self.path)


def test_three_cold_starts_are_counted_and_the_first_is_not_one(tmp_path: Path) -> None:
    bench = Bench(tmp_path / "cold_starts.jsonl")
    bench.begin()
    bench.judge()
    assert bench.seen().counted == ()
    assert "nobody saw" in bench.seen().starts[0].why_not
    for number in range(1, 4):
        told = what_next(bench.seen(), 3, 0, 30.0, GO_ON)
        assert f"cold start {number} of 3" in told
        assert "unplug" in told
        assert told.endswith(GO_ON)
        bench.start()
    assert len(bench.seen().counted) == 3
    assert what_next(bench.seen(), 3, 0, 30.0, GO_ON) == ""


def test_a_warm_start_and_the_same_boot_do_not_count(tmp_path: Path) -> None:
    bench = Bench(tmp_path / "cold_starts.jsonl")
    bench.begin()
    bench.judge()
    bench.begin()
    assert len(bench.seen().starts) == 1
    bench.restart(off_s=4.0)
    bench.begin()
    bench.judge()
    assert bench.seen().counted == ()
    assert bench.seen().starts[-1].why_not.startswith("off for 4 s")


def test_a_start_that_was_never_judged_is_a_hang(tmp_path: Path) -> None:
    bench = Bench(tmp_path / "cold_starts.jsonl")
    bench.begin()
    bench.judge()
    bench.restart()
    bench.begin()
    assert bench.seen().hung == ()
    bench.start()
    assert [s.boot_id for s in bench.seen().hung] == ["boot-1"]
    assert [s.boot_id for s in bench.seen().counted] == ["boot-2"]


def test_a_link_that_failed_once_stays_failed(tmp_path: Path) -> None:
    bench = Bench(tmp_path / "cold_starts.jsonl")
    bench.start("fail")
    bench.judge("pass")
    assert [s.judged for s in bench.seen().failed] == ["fail"]


def test_a_second_look_that_saw_nothing_takes_no_pass_away(tmp_path: Path) -> None:
    bench = Bench(tmp_path / "cold_starts.jsonl")
    bench.begin()
    bench.judge()
    bench.start("pass")
    bench.judge("not measured", "no traffic")
    assert len(bench.seen().counted) == 1


def test_starts_before_the_last_repair_are_left_out(tmp_path: Path) -> None:
    bench = Bench(tmp_path / "cold_starts.jsonl")
    bench.start("fail")
    repaired = bench.now
    bench.now += timedelta(seconds=60)
    bench.start()
    assert so_far(bench.path, repaired.isoformat()).failed == ()
    assert len(so_far(bench.path, repaired.isoformat()).starts) == 1


def test_reseats_are_counted_and_asked_for(tmp_path: Path) -> None:
    bench = Bench(tmp_path / "cold_starts.jsonl")
    bench.begin()
    bench.judge()
    bench.start()
    assert "seat it again" in what_next(bench.seen(), 1, 1, 30.0, GO_ON)
    bench.start(reseated=True)
    assert what_next(bench.seen(), 1, 1, 30.0, GO_ON) == ""


def test_time_without_power_counts_from_when_the_bench_was_last_seen_up(tmp_path: Path) -> None:
    bench = Bench(tmp_path / "cold_starts.jsonl")
    bench.begin()
    bench.judge()
    bench.now += timedelta(hours=1)
    alive(bench.path, bench.boot, bench.now)
    bench.restart(off_s=8.0)
    bench.begin()
    assert bench.seen().starts[-1].off_s == 8.0


def test_power_cut_in_the_middle_of_a_line_costs_that_line_only(tmp_path: Path) -> None:
    bench = Bench(tmp_path / "cold_starts.jsonl")
    bench.start()
    bench.start()
    whole = bench.path.read_bytes()
    bench.path.write_bytes(whole[:-30])
    assert len(bench.seen().starts) == 2
    assert bench.seen().starts[-1].judged == ""
    bench.start()
    assert len(bench.seen().hung) == 1
    assert len(bench.seen().starts) == 3


@settings(max_examples=40, deadline=None)
@given(
    steps=st.lists(
        st.tuples(st.sampled_from([5.0, 60.0]), st.sampled_from(["pass", "fail", "hang"])),
        max_size=8,
    )
)
def test_every_start_is_in_just_one_place(
    steps: list[tuple[float, str]], tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.mktemp("starts")
    bench = Bench(folder / "cold_starts.jsonl")
    bench.begin()
    bench.judge()
    for off_s, ending in steps:
        bench.restart(off_s)
        bench.begin()
        if ending != "hang":
            bench.judge(ending)
    seen = bench.seen()
    # A start after a hang is cold or not by the time since the last line, like any other.
    assert len(seen.starts) == len(steps) + 1
    assert len(seen.failed) == sum(ending == "fail" for _, ending in steps)
    assert len(seen.hung) == sum(ending == "hang" for _, ending in steps[:-1])
    for start in seen.counted:
        assert start.off_s is not None
        assert start.off_s >= 30.0


