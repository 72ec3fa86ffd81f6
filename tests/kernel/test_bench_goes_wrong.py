"""Whole runs while disk, clock, memory or processor fail, held against what the kernel says."""

from __future__ import annotations

import pytest

from tests.kernel.emulator import STILL_S
from tests.kernel.one_boot import Said

FROZEN_S = 6.0
"""Of guest/surroundings.py."""
WATCHED_S = 3.0
"""For how long profiles/emulated.toml has outputs watched."""
LOOK_COVERS_S = 0.5
"""Of what it did not see, as much counts as seen at the look that ended it."""


def test_a_disk_that_is_damaged_ends_the_run_with_its_reason(said_by_stable: Said) -> None:
    told = said_by_stable.one("disk_damaged")
    assert said_by_stable.one("kernel_of_disk")["said"]
    assert told["reason"]["code"] == "system_disk_read_only"


def test_nothing_begins_on_a_disk_that_is_read_only(said_by_stable: Said) -> None:
    assert said_by_stable.one("read_only")["reason"]["code"] == "system_disk_read_only"


@pytest.mark.parametrize(("check", "still_s"), [("disk_hangs", FROZEN_S), ("stolen", STILL_S)])
def test_what_a_bench_that_stood_still_did_not_see_is_watched_again(
    said_by_stable: Said, check: str, still_s: float
) -> None:
    told = said_by_stable.one(check)
    first_s, last_s = told["elapsed_s"]
    assert told["longest_gap_s"] > still_s - 0.5
    seen_s = last_s - first_s - told["longest_gap_s"]
    assert seen_s >= 0.8 * (WATCHED_S - LOOK_COVERS_S)  # without a second watch: 0.1 s, or none
    assert told["readings"]["1-display screen_lost_times Virtual-1"]["verdict"] == "pass"


def test_the_kernel_too_says_that_the_run_hung(said_by_stable: Said) -> None:
    assert said_by_stable.one("kernel_of_hang")["hung"]


def test_a_clock_that_is_stepped_back_moves_no_sample(said_by_stable: Said) -> None:
    told, clocks = said_by_stable.one("clock_stepped"), said_by_stable.one("kernel_clocks")
    assert clocks["wall_s"] < 0.0 < clocks["monotonic_s"]
    first_s, last_s = told["elapsed_s"]
    assert WATCHED_S * 0.9 <= last_s - first_s <= clocks["monotonic_s"]
    assert told["longest_gap_s"] < 1.0
    assert told["verdict"] == "pass"


def test_a_bench_that_is_throttled_watches_as_long_as_any(said_by_stable: Said) -> None:
    assert int(said_by_stable.one("kernel_of_limit")["stat"]["nr_throttled"]) > 0
    told = said_by_stable.one("throttled")
    assert told["verdict"] == "pass"
    assert told["elapsed_s"][1] - told["elapsed_s"][0] >= 0.8 * WATCHED_S


def test_what_the_kernel_killed_for_memory_can_be_read_and_has_no_verdict(
    said_by_stable: Said,
) -> None:
    assert int(said_by_stable.one("kernel_of_memory")["events"]["oom_kill"]) == 1
    told = said_by_stable.one("after_memory")
    assert told["verdict"] == "incomplete"
    assert told["samples"] > 0
