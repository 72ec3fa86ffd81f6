"""What a link check makes of what both ends, the counters and the copies told."""

from __future__ import annotations

from dataclasses import replace

import pytest

from burnin.card.capabilities import Counter, Link, LinkEnd
from burnin.core.meaning import Reason, Source
from burnin.core.reading import NotMeasured, Reading, Verdict
from burnin.engine.job import TrafficResult
from burnin.stages.counters import difference
from burnin.stages.link.ends_seen import EndSeen, EndsSeen, StickyBits
from burnin.stages.link.error_rate import Direction
from burnin.stages.link.error_readings import new_errors
from burnin.stages.link.expectation import LinkExpected
from burnin.stages.link.lane_readings import lane_readings
from burnin.stages.link.meanings import LinkReason
from burnin.stages.link.rate_readings import rate_readings
from burnin.stages.link.settings import LinkCheck
from burnin.stages.link.sums import Traffic
from burnin.stages.link.training_readings import loaded_readings

UNREAD = NotMeasured(Reason("test_unread"))
END = LinkEnd(16.0, 16, 16.0, 16, Source("test"))
LINK = Link(END, END)
SETTINGS = LinkCheck(stage="link", width_lanes=16, generation=4)
EXPECTED = LinkExpected(16.0, 16.0, None, None, None)
QUIET = {"card bad TLP (correctable)": 0, "port bad TLP (correctable)": 0}
TERABYTE = 10**12


def moved(errors: dict[str, int] | None = None, **more: int) -> Traffic:
    """Ten seconds of copies each way, and what the counters rose by."""
    sums = Traffic(10.0, TERABYTE, TERABYTE, errors=dict(errors or QUIET))
    return replace(sums, **more)  # type: ignore[arg-type]


def by_name(readings: object) -> dict[str, Reading]:
    assert hasattr(readings, "__iter__")
    return {reading.name: reading for reading in readings}


# ---- copies


def test_copied_words_that_arrived_wrong_fail() -> None:
    def judged(wrong_words: int) -> Reading:
        sums = moved(wrong_words=wrong_words)
        found = rate_readings(SETTINGS, sums, LINK, UNREAD, None, UNREAD)
        return by_name(found)["copy_wrong_words"]

    assert judged(0).verdict is Verdict.PASS
    wrong = judged(1)
    assert (wrong.verdict, wrong.required) == (Verdict.FAIL, True)
    assert wrong.reason == LinkReason.WRONG_WORDS(words_count=1)


def test_traffic_of_one_way_is_charged_to_that_way_alone() -> None:
    sums = Traffic(10.0, TERABYTE, 0, errors=dict(QUIET))
    to_card, to_host = sums.direction("to_card", 16), sums.direction("to_host", 16)
    assert isinstance(to_card, Direction)
    assert isinstance(to_host, Direction)
    assert (to_card.moved_bytes, to_host.moved_bytes) == (TERABYTE, 0)
    assert to_card.bits_per_lane == 8 * TERABYTE / 16
    rates = by_name(rate_readings(SETTINGS, sums, LINK, UNREAD, None, UNREAD))
    assert rates["copy_to_card_gbs"].value == 100.0
    assert rates["copy_to_host_gbs"].value == 0.0


def test_an_error_on_the_way_without_traffic_is_no_chance_of_the_other_way() -> None:
    """Ten errors are few in the bits of a thousand terabytes; in none they are not."""
    much = Traffic(10.0, 1000 * TERABYTE, 0, errors={**QUIET, "port bad TLP (correctable)": 10})
    found = by_name(new_errors(much, 16, None))
    assert found["link_errors to_card"].verdict is Verdict.PASS
    assert found["link_errors to_host"].verdict is Verdict.FAIL


def test_stretches_are_added_each_to_its_way() -> None:
    sums = Traffic()
    for _ in range(2):
        sums.add(TrafficResult(5.0, 300, 700, 0.1, 0.2, 1), difference((), ()))
    assert (sums.to_card_bytes, sums.to_host_bytes, sums.wrong_words) == (600, 1400, 2)
    assert sums.seconds == 10.0


def test_more_than_the_line_can_carry_is_no_proof_that_it_crossed() -> None:
    """16 lanes at 16 GT/s carry 31.5 GB/s (16 x 16 x 128/130 / 8; PCI Express Base 4.0)."""

    def judged(moved_bytes: int, link: Link, fastest: tuple[float, ...] = ()) -> Reading:
        sums = Traffic(10.0, moved_bytes, moved_bytes, errors=dict(QUIET))
        found = rate_readings(SETTINGS, sums, link, UNREAD, None, UNREAD, None, fastest)
        return by_name(found)["copy_share_of_payload_limit"]

    beyond = judged(330 * 10**9, LINK)
    assert (beyond.verdict, beyond.required) == (Verdict.NOT_MEASURED, True)
    assert beyond.reason is not None
    assert beyond.reason.means(LinkReason.FASTER_THAN_IT_CAN)
    assert judged(310 * 10**9, LINK).verdict is Verdict.PASS


def test_what_was_moved_is_held_against_the_speed_at_which_it_was_moved() -> None:
    """A link that slowed down when the copies were over carried what it carried."""
    slowed = replace(LINK, card=replace(END, speed_gts=2.5))
    sums = Traffic(10.0, 260 * 10**9, 260 * 10**9, errors=dict(QUIET))

    def share(fastest: tuple[float, ...]) -> Reading:
        found = rate_readings(SETTINGS, sums, slowed, UNREAD, None, UNREAD, None, fastest)
        return by_name(found)["copy_share_of_payload_limit"]

    ran = share((16.0,))
    assert ran.verdict is Verdict.PASS
    assert ran.value == pytest.approx(0.88, abs=0.03)
    assert share(()).verdict is Verdict.NOT_MEASURED


# ---- errors


@pytest.mark.parametrize(
    "counter",
    [
        "card malformed TLP (fatal)", "port surprise down (fatal)",
        "card completion timeout (non-fatal)",
    ],
)  # fmt: skip
def test_an_error_that_the_link_could_not_mend_fails(counter: str) -> None:
    found = by_name(new_errors(moved({**QUIET, counter: 1}), 16, None))
    assert found["uncorrected_link_errors"].verdict is Verdict.FAIL
    quiet = by_name(new_errors(moved({**QUIET, counter: 0}), 16, None))
    assert quiet["uncorrected_link_errors"].verdict is Verdict.PASS


def counted(value: int) -> tuple[Counter, ...]:
    return tuple(
        Counter("bad TLP (correctable)", end, number, None, Source("test"))
        for end, number in (("card", value), ("port", 5))
    )


def test_a_counter_that_restarted_under_traffic_is_not_measured_and_required() -> None:
    sums = Traffic()
    result = TrafficResult(10.0, TERABYTE, TERABYTE, 0.1, 0.1, 0)
    sums.add(result, difference(counted(9), counted(2)))
    found = by_name(new_errors(sums, 16, None))["link_errors to_card"]
    assert (found.verdict, found.required) == (Verdict.NOT_MEASURED, True)
    # what it counted since it restarted is no difference, and one that went on is
    assert "card bad TLP (correctable)" not in sums.errors
    assert sums.errors["port bad TLP (correctable)"] == 0


# ---- lanes


class Space:
    def __init__(self, lanes: tuple[int, ...]) -> None:
        self._lanes = lanes

    def lane_errors(self) -> tuple[int, ...]:
        return self._lanes

    def link(self) -> NotMeasured:
        return UNREAD


class Sticky:
    """A card that tells lane error bits and nothing else."""

    def __init__(self, lanes: tuple[int, ...]) -> None:
        self._lanes = lanes

    def configuration_space_at(self, end: str) -> Space:
        return Space(self._lanes if end == "card" else ())


def ends(before: tuple[int, ...], now: tuple[int, ...]) -> EndsSeen:
    """Both ends as they were before, and what they say now."""
    made = EndsSeen.__new__(EndsSeen)
    made._card = Sticky(now)  # type: ignore[assignment]
    made.card_end = EndSeen(16, 16.0, StickyBits(before))
    made.port_end = EndSeen(16, 16.0, StickyBits(()))
    return made


@pytest.mark.parametrize("lane", range(16))
def test_every_lane_whose_error_bit_rose_is_named_lane_0_too(lane: int) -> None:
    errors = {**QUIET, "card bad TLP (correctable)": 3}
    (found,) = lane_readings(ends((), (lane,)), moved(errors))
    assert found.value == 1.0
    assert found.reason == LinkReason.LANES_ROSE(lanes=(LinkReason.LANE_AT_CARD(lane=lane),))


@pytest.mark.parametrize("lane", [0, 7, 15])
def test_a_lane_that_rose_where_nothing_was_counted_leaves_the_check_open(lane: int) -> None:
    (found,) = lane_readings(ends((), (lane,)), moved())
    assert found.verdict is Verdict.UNSURE
    assert found.reason == LinkReason.LANES_UNCOUNTED(lanes=(LinkReason.LANE_AT_CARD(lane=lane),))


def test_a_bit_that_stood_before_is_none_of_this_run() -> None:
    (found,) = lane_readings(ends((0, 3), (0, 3)), moved())
    assert (found.value, found.verdict) == (0.0, None)


# ---- training


def seen(*looks: tuple[int, float]) -> EndsSeen:
    made = ends((), ())
    for number, (lanes, gts) in enumerate(looks):
        made.card_end.add(replace(END, width_lanes=lanes, speed_gts=gts), 2.0 + number)
    return made


def test_a_link_that_was_narrow_for_one_look_only_fails_though_it_is_wide_again() -> None:
    looks = [(16, 16.0)] * 20
    sound = by_name(loaded_readings(LINK, EXPECTED, seen(*looks), None))
    assert sound["link_width_lanes"].verdict is Verdict.PASS
    looks[7] = (8, 16.0)
    found = by_name(loaded_readings(LINK, EXPECTED, seen(*looks), None))["link_width_lanes"]
    assert (found.value, found.verdict) == (8.0, Verdict.FAIL)


def test_a_link_that_was_slow_under_traffic_for_one_look_only_fails() -> None:
    looks = [(16, 16.0)] * 20
    looks[7] = (16, 8.0)
    found = by_name(loaded_readings(LINK, EXPECTED, seen(*looks), None))["link_speed_gts"]
    assert (found.value, found.verdict) == (8.0, Verdict.FAIL)
