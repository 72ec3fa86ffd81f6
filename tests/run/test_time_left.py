"""The time that a run still takes, from what its profile expects."""

from __future__ import annotations

import pytest

from burnin.profile.loader import load_profile
from burnin.run.time_left import Left, TimeLeft, planned_stages

EXPECTED = {"1-enumeration": 1.0, "2-link": 30.0, "3-compute": 60.0}


def test_stages_count_down_and_are_gone_when_they_end() -> None:
    left = TimeLeft(EXPECTED, EXPECTED)
    left.begins("1-enumeration", 1.0, 0.0)
    assert left.left(0.5) == Left(0.5, 90.5, True)
    left.ends("1-enumeration")
    assert left.left(1.0) == Left(None, 90.0, True)
    left.begins("2-link", 30.0, 1.0)
    left.ends("2-link")
    left.begins("3-compute", 60.0, 12.0)
    assert left.left(42.0) == Left(30.0, 30.0, True)


def test_a_stage_that_takes_longer_has_nothing_left_and_takes_none_from_others() -> None:
    left = TimeLeft(EXPECTED, EXPECTED)
    left.begins("2-link", 30.0, 0.0)
    assert left.left(100.0) == Left(0.0, 61.0, True)


def test_where_nobody_can_say_of_one_stage_it_is_at_least_the_rest() -> None:
    left = TimeLeft(EXPECTED, (*EXPECTED, "4-memory"))
    left.begins("2-link", 30.0, 0.0)
    assert not left.left(0.0).is_all
    left.begins("4-memory", 0.0, 30.0)
    assert left.left(31.0).stage_s is None


@pytest.mark.parametrize("name", ["desktop_air", "repaired_joint"])
def test_a_shipped_profile_tells_what_its_stages_take(name: str) -> None:
    loaded = load_profile(name)
    planned = planned_stages(loaded.name, loaded.file, loaded.text)
    assert [stage.stage for stage, _ in planned.values()] == [
        stage.stage for stage in loaded.profile.stages
    ]
    assert sum(seconds for _, seconds in planned.values()) > 60.0


def test_a_profile_that_cannot_be_read_here_tells_nothing() -> None:
    assert planned_stages("x", "x.toml", "format = 99\n") == {}
