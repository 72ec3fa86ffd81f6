"""When something of a night may begin, by the clock on the shop's wall."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from burnin.cli.night.hours import hours_of
from burnin.cli.night.queue_file import QueueFile


def queue(begins: str | None = None, until: str | None = None, *quiet: str) -> QueueFile:
    content: dict[str, object] = {"cards": ({"card": "01:00.0"},), "quiet": quiet}
    if begins is not None:
        content["from"] = begins
    if until is not None:
        content["until"] = until
    return QueueFile.model_validate(content)


def at(text: str) -> datetime:
    return datetime.fromisoformat(f"2026-03-{text}").replace(tzinfo=UTC)


@pytest.mark.parametrize(
    ("now", "begins", "until"),
    [
        ("02 18:00", "02 20:00", "03 06:30"),  # before
        ("02 21:00", "02 20:00", "03 06:30"),  # in it
        ("03 02:00", "02 20:00", "03 06:30"),  # after midnight, begun yesterday
        ("03 07:00", "03 20:00", "04 06:30"),  # over, the next one
    ],
)
def test_a_night_over_midnight(now: str, begins: str, until: str) -> None:
    hours = hours_of(queue("20:00", "06:30"), at(now), "UTC")
    assert (hours.begins, hours.until) == (at(begins), at(until))
    assert hours.over(at(until))
    assert not hours.over(at(now))


@pytest.mark.parametrize(
    ("now", "begins", "until"),
    [("02 07:00", "02 08:00", "02 12:00"), ("02 09:00", "02 08:00", "02 12:00"),
     ("02 13:00", "03 08:00", "03 12:00")],
)  # fmt: skip
def test_hours_of_one_day(now: str, begins: str, until: str) -> None:
    hours = hours_of(queue("08:00", "12:00"), at(now), "UTC")
    assert (hours.begins, hours.until) == (at(begins), at(until))


def test_what_is_left_out_bounds_nothing() -> None:
    free = hours_of(queue(), at("02 13:00"), "UTC")
    assert free.not_before(at("02 13:00")) is None
    assert not free.over(at("09 13:00"))
    ends = hours_of(queue(None, "06:00"), at("02 13:00"), "UTC")
    assert ends.until == at("03 06:00")


def test_in_quiet_hours_nothing_begins_until_their_end_by_the_shops_clock() -> None:
    hours = hours_of(queue(None, None, "22:00-06:00", "12:00-13:00"), at("02 10:00"), "UTC")
    assert hours.not_before(at("02 21:59")) is None
    assert hours.not_before(at("02 22:00")) == at("03 06:00")
    assert hours.not_before(at("03 05:59")) == at("03 06:00")
    assert hours.not_before(at("03 06:00")) is None
    assert hours.not_before(at("02 12:30")) == at("02 13:00")
    there = hours_of(queue(None, None, "22:00-06:00"), at("02 10:00"), "Europe/Berlin")
    assert there.not_before(at("02 21:30")) == at("03 05:00")


@pytest.mark.parametrize("text", ["24:00", "8:00", "20.00", "", "20:60"])
def test_what_is_no_time_of_day_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="write it as 20:00"):
        queue(text)
