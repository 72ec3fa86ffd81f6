"""A temperature that a real driver tells: read as the kernel shows it, guarded as it moves."""

from __future__ import annotations

import pytest

from tests.kernel.one_boot import Said, Told

LIMIT_C = 80.0
"""Of profiles/emulated.toml."""


def _watched(said: Said, kind: str) -> Told:
    (found,) = (line for line in said.all("watched") if line["kind"] == kind)
    return found


def test_a_temperature_is_what_the_driver_tells(said_by_stable: Said) -> None:
    for told in said_by_stable.all("temperature"):
        assert told["tool"] == pytest.approx(int(told["kernel"]) / 1000.0)
        assert told["tool"] == pytest.approx(told["written"])


def test_one_that_rises_ends_the_load_before_its_limit(said_by_stable: Said) -> None:
    told = _watched(said_by_stable, "rises")
    assert told["guard"] == "GPU limit"
    assert told["highest_c"] < LIMIT_C


def test_one_that_disappears_ends_the_load_when_it_is_too_old(said_by_stable: Said) -> None:
    told = _watched(said_by_stable, "disappears")
    assert told["guard"] == "stale data"
    assert told["why"]["code"] == "guard_temperature_unread"
    assert 7.0 <= told["after_s"] < 8.0  # taken off after 2 s, and 5 s are allowed
