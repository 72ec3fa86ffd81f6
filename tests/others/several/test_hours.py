"""A night's hours over the change to and from summer time, and typed late in the evening.

Berlin, 2026: at 01:00 UTC of 29 March clocks go from 02:00 to 03:00, of 25 October from 03:00 to
02:00 (Directive 2000/84/EC, articles 2 and 3).
"""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from burnin.cli.night.hours import Hours, hours_of
from burnin.cli.night.queue_file import QueueFile


def at(text: str) -> datetime:
    return datetime.fromisoformat(f"2026-{text}").replace(tzinfo=UTC)


def hours(now: str, *quiet: str, begins: str | None = None, until: str | None = None) -> Hours:
    content = {"cards": ({"card": "01:00.0"},), "quiet": quiet, "from": begins, "until": until}
    return hours_of(QueueFile.model_validate(content), at(now), "Europe/Berlin")


@pytest.mark.parametrize(
    ("now", "quiet", "earliest", "latest"),
    [
        ("03-28 21:30", "22:00-06:00", "03-29 04:00", "03-29 04:00"),  # a night of seven hours
        ("10-24 20:30", "22:00-06:00", "10-25 05:00", "10-25 05:00"),  # and one of nine
        ("03-29 00:45", "01:30-02:30", "03-29 01:00", "03-29 01:30"),  # ends at no time at all
        ("10-25 00:15", "02:00-02:30", "10-25 00:30", "10-25 01:30"),  # ends twice
        ("10-25 01:15", "02:00-02:30", "10-25 01:30", "10-25 01:30"),  # in the second 02:15
        ("10-25 00:50", "02:45-03:15", "10-25 02:15", "10-25 02:15"),
    ],
)
def test_quiet_hours_end_by_the_clock_on_the_wall(
    now: str, quiet: str, earliest: str, latest: str
) -> None:
    ends = hours(now, quiet).not_before(at(now))
    assert ends is not None
    assert at(earliest) <= ends <= at(latest)
    assert hours(now, quiet).not_before(at(latest)) is None


def test_a_night_over_the_change_has_its_own_length() -> None:
    spring = hours("03-28 18:00", begins="20:00", until="06:30")
    assert (spring.begins, spring.until) == (at("03-28 19:00"), at("03-29 04:30"))
    late = hours("03-29 01:30", begins="20:00", until="06:30")  # 03:30, after the change
    assert (late.begins, late.until) == (at("03-28 19:00"), at("03-29 04:30"))
    autumn = hours("10-24 18:30", begins="20:00", until="06:30")
    assert (autumn.begins, autumn.until) == (at("10-24 18:00"), at("10-25 05:30"))


def test_an_hour_after_midnight_that_is_typed_in_the_evening_is_that_of_the_coming_night() -> None:
    # gave: at once, since 02:30 of the same day was over
    assert hours("06-01 20:30", begins="02:30").begins == at("06-02 00:30")
    assert hours("06-01 19:30", begins="20:00").begins <= at("06-01 19:30")
    assert hours("06-02 01:00", begins="02:30").begins <= at("06-02 01:00")
