"""What a proof of the bench leaves open: its set-up, its loop, a strip, the profile taken."""

from __future__ import annotations

from dataclasses import replace

import pytest

from burnin.core.blame import blame
from burnin.core.evidence.seen import HeatSeen, LinkSeen, PadSeen, PowerSeen, Seen
from burnin.core.parties import Party, Step
from burnin.core.proven_bench import ProvenBench, ProvenOutput, Slot
from burnin.core.reading import Limit, Reading, Verdict, judge, judge_text
from burnin.core.sights import NEVER_SHOWED

OUTPUTS = ("DP-1", "DP-2", "DP-3", "HDMI-A-1")
PROVEN = ProvenBench(
    Slot("0000:00:01.0", "bench"),
    outputs=tuple(ProvenOutput(name) for name in OUTPUTS),
    simulated=True,
)
SILENT = LinkSeen(errors={"card": 0, "port": 0}, lanes={"card": (), "port": ()})


def speed(gts: float, asked: float = 16.0) -> Reading:
    return judge("link_speed_gts", gts, "GT/s", Limit(lower=asked))


def test_straight_at_the_lowest_rate_without_a_sign_is_the_hosts_set_up() -> None:
    found = blame(speed(2.5), Seen(PROVEN, SILENT))
    assert found.parties == (Party.SET_UP, Party.CARD)
    assert found.step.means(Step.LOOK_AT_SET_UP)


@pytest.mark.parametrize(
    ("reading", "link"),
    [
        (speed(8.0), SILENT),                                      # one rate down
        (speed(2.5, asked=5.0), SILENT),
        (speed(2.5), replace(SILENT, retrained=True)),
        (speed(2.5), replace(SILENT, errors={"card": 4, "port": 0})),
        (speed(2.5), replace(SILENT, lanes={"card": (3,), "port": ()})),
        (speed(2.5), replace(SILENT, most_gts=8.0)),               # it fell while it worked
        (speed(2.5), LinkSeen()),                                  # nobody read an error counter
    ],
)
def test_a_link_that_fell_or_told_anything_is_the_cards_in_a_proven_slot(
    reading: Reading, link: LinkSeen
) -> None:
    assert blame(reading, Seen(PROVEN, link)).card_alone


def screens(*dark: str) -> list[Reading]:
    return [
        judge_text(f"screen_detected {name}", "disconnected" if name in dark else "connected",
                   ("connected",))
        for name in OUTPUTS
    ]  # fmt: skip


def test_proven_screens_that_are_all_dark_share_something_and_three_of_four_do_not() -> None:
    dark = screens(*OUTPUTS)
    found = blame(dark[0], Seen(PROVEN, on_the_bus=True), dark)
    assert found.parties[0] is Party.MONITOR
    assert found.step.means(Step.LOOK_AT_SHARED)
    assert blame(dark[0], Seen(PROVEN, on_the_bus=False), dark).card_alone
    some = screens(*OUTPUTS[:3])
    assert blame(some[0], Seen(PROVEN, on_the_bus=True), some).card_alone


def test_screens_of_another_stage_are_no_proof_of_this_one() -> None:
    cold = [replace(reading, stage="2-display") for reading in screens()]
    warm = [replace(reading, stage="4-display") for reading in screens(*OUTPUTS)]
    found = blame(warm[0], Seen(PROVEN, on_the_bus=True), [*cold, *warm])
    assert found.parties[0] is Party.MONITOR


def identity(device: str, gib: float, firmware: str | None = None) -> list[Reading]:
    found = [
        judge_text("device_id", device, ("0x0009",)),
        judge("memory_gib", gib, "GiB", Limit(lower=23.0)),
    ]
    if firmware is not None:
        found.append(judge_text("firmware_version", firmware, ("9.31",)))
    return found


def test_a_card_that_agrees_with_itself_on_another_model_has_the_wrong_profile() -> None:
    other = identity("0x0004", 8.0)
    found = blame(other[0], Seen(PROVEN), other)
    assert found.parties[0] is Party.SET_UP
    assert found.step.means(Step.TAKE_PROFILE)


@pytest.mark.parametrize(
    "told",
    [identity("0x0004", 24.0), identity("0x0009", 22.0), identity("0x0004", 8.0, "9.31")],
    ids=["numbers alone", "memory alone", "firmware of this model"],
)
def test_what_contradicts_itself_is_the_cards(told: list[Reading]) -> None:
    failed = [r for r in told if r.verdict is Verdict.FAIL]
    assert all(blame(r, Seen(PROVEN), told).card_alone for r in failed)


def test_a_card_that_draws_all_that_it_is_made_for_has_the_wrong_profile() -> None:
    low = judge("power_w", 300.0, "W", Limit(lower=400.0), uncertainty=9.0)
    own = judge("own_power_share", 1.0, "", Limit(lower=0.9))
    found = blame(low, Seen(PROVEN), [low, own])
    assert found.parties[0] is Party.SET_UP
    assert found.step.means(Step.TAKE_PROFILE)
    assert Party.SET_UP not in blame(low, Seen(PROVEN), [low]).parties
    held = Seen(PROVEN, power=PowerSeen(limit_in_force_w=300.0))
    assert Party.SET_UP not in blame(low, held, [low, own]).parties


def test_a_loop_that_was_proven_may_stop_today() -> None:
    hot = judge("gpu_temp_max_c", 92.0, "°C", Limit(upper=85.0), uncertainty=0.6)
    course = HeatSeen(rest_c={"gpu_temp_c": 26.0}, most_c={"gpu_temp_c": 92.0}, turned=True)
    assert blame(hot, Seen(PROVEN, heat=course)).parties[0] is Party.SET_UP
    assert blame(hot, Seen(PROVEN, heat=replace(course, own_fans=True))).card_alone
    assert blame(hot, Seen(PROVEN, heat=replace(course, turned=False))).card_alone


def test_a_fan_that_ran_down_stands_though_the_card_is_cool() -> None:
    cool = HeatSeen(own_fans=True, ran_down=frozenset({2}))
    for name, alone in (("fan_stood_still_s 2", True), ("fan_stood_still_s", False)):
        stood = judge(name, 70.0, "s", Limit(upper=6.0))
        assert blame(stood, Seen(PROVEN, heat=cool)).card_alone is alone


def test_a_card_that_never_shows_is_laid_by_what_the_meter_said() -> None:
    never = Reading(NEVER_SHOWED, None, "", verdict=Verdict.FAIL)

    def with_pad(contact: str, lane: int | None, good: bool) -> tuple[Party, bool]:
        found = blame(never, Seen(pads=(PadSeen(contact, "link", lane, good),)))
        return found.parties[0], found.step.means(Step.MEND_CONTACT)

    assert with_pad("A11", None, good=False) == (Party.CARD, True)
    assert with_pad("A13", None, good=True) == (Party.SLOT, False)
    assert with_pad("B70", 13, good=False) == (Party.SUPPLY, False)  # one lane of the upper ones
    assert blame(never, Seen()).step.means(Step.SEAT_PLUGS)


def test_an_error_counted_as_the_card_leaves_is_weighed_as_the_leaving() -> None:
    """A port counts 'surprise down' whoever took the card away: its supply contacts bear on it."""
    gone = judge("whole_run_uncorrected_errors", 1.0, "", Limit(0, 0))
    bad = PadSeen("B1", "supply", None, good=False)
    left, stayed = Seen(None, SILENT, on_the_bus=False), Seen(None, SILENT, on_the_bus=True)
    assert blame(gone, replace(left, pads=(bad,))).parties[0] is Party.CARD
    assert blame(gone, left).parties == blame(
        judge("whole_run_samples_gone", 1.0, "", Limit(0, 0)), left
    ).parties
    assert blame(gone, stayed).parties != blame(gone, left).parties
