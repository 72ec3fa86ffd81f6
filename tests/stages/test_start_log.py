"""Cold starts: state outlives power-off, each start is proven, a hang is counted."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from burnin.core.meaning import Reason
from burnin.core.reading import Verdict
from burnin.record.event_log import LogEvent, append
from burnin.record.reasons import RecordReason
from burnin.report.languages.catalogue import catalogue
from burnin.stages.boot import Boot
from burnin.stages.cold_starts.meanings import ColdStartReason
from burnin.stages.cold_starts.start_log import (
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

    def judge(self, verdict: Verdict = Verdict.PASS, *reasons: Reason) -> None:
        self.now += timedelta(seconds=5)
        judged(self.path, self.boot, verdict, reasons, self.now)

    def start(self, verdict: Verdict = Verdict.PASS, reseated: bool = False) -> None:
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
    assert bench.seen().starts[0].why_not == ColdStartReason.FIRST_START()
    for number in range(1, 4):
        following = what_next(bench.seen(), 3, 0, 30.0, GO_ON)
        assert following == ColdStartReason.NEXT(
            number=number, of_count=3, wait_s=30.0, command=GO_ON
        )
        told = catalogue().say(following)
        assert f"cold start {number} of 3" in told
        assert "unplug" in told
        assert told.endswith(GO_ON)
        bench.start()
    assert len(bench.seen().counted) == 3
    assert what_next(bench.seen(), 3, 0, 30.0, GO_ON) is None


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
    why_not = bench.seen().starts[-1].why_not
    assert why_not == ColdStartReason.OFF_TOO_SHORT(off_s=4.0, needed_s=30.0)
    assert catalogue().say(why_not).startswith("off for 4 s")


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
    bench.start(Verdict.FAIL)
    bench.judge(Verdict.PASS)
    assert [s.judged for s in bench.seen().failed] == [Verdict.FAIL]


def test_a_second_look_that_saw_nothing_takes_no_pass_away(tmp_path: Path) -> None:
    bench = Bench(tmp_path / "cold_starts.jsonl")
    bench.begin()
    bench.judge()
    bench.start(Verdict.PASS)
    bench.judge(Verdict.NOT_MEASURED, ColdStartReason.FIRST_START())
    assert len(bench.seen().counted) == 1


def test_starts_before_the_last_repair_are_left_out(tmp_path: Path) -> None:
    bench = Bench(tmp_path / "cold_starts.jsonl")
    bench.start(Verdict.FAIL)
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
    following = what_next(bench.seen(), 1, 1, 30.0, GO_ON)
    assert following is not None
    assert following.means(ColdStartReason.NEXT_RESEATED)
    bench.start(reseated=True)
    assert what_next(bench.seen(), 1, 1, 30.0, GO_ON) is None


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
    assert bench.seen().starts[-1].judged is None
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
            bench.judge(Verdict(ending))
    seen = bench.seen()
    # A start after a hang is cold or not by the time since the last line, like any other.
    assert len(seen.starts) == len(steps) + 1
    assert len(seen.failed) == sum(ending == "fail" for _, ending in steps)
    assert len(seen.hung) == sum(ending == "hang" for _, ending in steps[:-1])
    for start in seen.counted:
        assert start.off_s is not None
        assert start.off_s >= 30.0


def test_reasons_come_back_as_they_were_noted(tmp_path: Path) -> None:
    bench = Bench(tmp_path / "cold_starts.jsonl")
    why = ColdStartReason.HUNG(hung_count=1, starts_count=2)
    bench.begin()
    bench.judge(Verdict.FAIL, why)
    assert bench.seen().failed[0].reasons == (why,)


def test_sentences_of_an_older_log_are_kept_as_such(tmp_path: Path) -> None:
    path = tmp_path / "cold_starts.jsonl"
    begun = {"boot_id": "a", "off_s": 4.0, "cold": False, "why_not": "off for 4 s"}
    fields = {"boot_id": "a", "verdict": "fail", "reason": "the link runs on 8 of 16 lanes"}
    lines = [
        LogEvent("2026-03-02T09:15:00.000Z", "begun", "", begun),
        LogEvent("2026-03-02T09:16:00.000Z", "judged", "", fields),
    ]
    append(path, lambda _: lines)
    start = so_far(path).starts[0]
    assert start.judged is Verdict.FAIL
    assert start.why_not == RecordReason.WORDS_OF_FORMAT_1(words="off for 4 s")
    assert start.reasons == (
        RecordReason.WORDS_OF_FORMAT_1(words="the link runs on 8 of 16 lanes"),
    )
