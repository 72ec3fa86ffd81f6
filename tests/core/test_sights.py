"""What is seen in a run moves the blame: pads, sensors, cooling, power, kernel, screens."""

from __future__ import annotations

import pytest

from burnin.core.blame import Blame, blame
from burnin.core.evidence.seen import HeatSeen, LinkSeen, PadSeen, PowerSeen, Seen
from burnin.core.meaning import ReasonCode
from burnin.core.parties import Party, Step
from burnin.core.proven_bench import NotProven, ProvenBench, Slot
from burnin.core.reading import Limit, Reading, ReadingReason, Verdict, judge, of_stage
from burnin.core.verdict import (
    OwedWhat,
    StageOutcome,
    StageVerdict,
    owed_to_decide,
)

UNPROVEN = NotProven(ReadingReason.NOT_READ())
PROVEN = ProvenBench(Slot("0000:00:01.0", "bench"), simulated=True)
WIDTH = judge("link_width_lanes", 8.0, "lanes", Limit(lower=16.0))
HOT = judge("gpu_temp_max_c", 92.0, "°C", Limit(upper=85.0), uncertainty=0.6)
POWER = judge("power_w", 300.0, "W", Limit(lower=400.0), uncertainty=9.0)
SOUND = {"gpu_temp_c": 26.0, "memory_temp_c": 27.0}
WARMED = {"gpu_temp_c": 92.0, "memory_temp_c": 70.0}


class Kernel(ReasonCode):
    """Codes of the kernel's log, as the room of cards has them."""

    TIMED_OUT = "kernel_work_timed_out", "address", "line"
    FAULT = "kernel_gpu_fault", "address", "line"


def first(found: Blame) -> Party:
    return found.parties[0]


def heat(**told: object) -> HeatSeen:
    seen: dict[str, object] = {"rest_c": SOUND, "most_c": WARMED, **told}
    return HeatSeen(**seen)  # type: ignore[arg-type]


def kernel(code: Kernel) -> Reading:
    why = code(address="0000:01:00.0", line="")
    return judge("whole_run_kernel_log", 1.0, "", Limit(upper=0.0), why_fail=why)


def test_a_pad_that_measures_good_sends_us_to_the_slot_and_an_open_one_to_the_card() -> None:
    good = PadSeen("B54", "link", 9, good=True)
    open_one = PadSeen("B54", "link", 9, good=False)
    assert first(blame(WIDTH, Seen(UNPROVEN, pads=(good,)))) is Party.SLOT
    assert first(blame(WIDTH, Seen(UNPROVEN, pads=(open_one,)))) is Party.CARD
    assert first(blame(WIDTH, Seen(UNPROVEN, pads=(good, open_one)))) is Party.CARD


def test_a_pad_of_a_lane_that_cannot_be_the_cause_says_nothing() -> None:
    low = PadSeen("B27", "link", 3, good=True)  # a fault there would leave two lanes
    assert blame(WIDTH, Seen(UNPROVEN, pads=(low,))) == blame(WIDTH, Seen(UNPROVEN))
    errors = judge("new_link_errors", 40.0, "", Limit(0, 0))
    lane = LinkSeen(errors={"card": 40}, lanes={"card": (3,), "port": ()})
    other = PadSeen("B54", "link", 9, good=True)
    assert first(blame(errors, Seen(UNPROVEN, lane, pads=(other,)))) is Party.CARD
    assert first(blame(errors, Seen(UNPROVEN, lane, pads=(low,)))) is Party.SLOT


@pytest.mark.parametrize(
    "told", [{"scattered": {"gpu_temp_c": 5}}, {"leapt": frozenset({"gpu_temp_c"})}]
)
def test_a_sensor_that_leaps_as_no_heat_does_is_never_the_cards_alone(
    told: dict[str, object],
) -> None:
    found = blame(HOT, Seen(PROVEN, heat=heat(own_fans=True, **told)))
    assert first(found) is Party.SENSOR
    steady = blame(HOT, Seen(PROVEN, heat=heat(own_fans=True)))
    assert steady.card_alone


def test_the_hot_spot_over_the_die_stands_on_both_sensors() -> None:
    delta = judge("hotspot_delta_max_k", 53.0, "K", Limit(upper=30.0), uncertainty=0.9)
    for signal in ("gpu_temp_c", "hotspot_temp_c"):
        told = Seen(PROVEN, heat=heat(leapt=frozenset({signal})))
        assert first(blame(delta, told)) is Party.SENSOR
    assert Party.SET_UP not in blame(delta, Seen(UNPROVEN, heat=heat(keeps_rising=True))).parties


def test_heat_that_never_rests_without_fans_is_the_bench_s_loop_first() -> None:
    rising = Seen(UNPROVEN, heat=heat(keeps_rising=True))
    found = blame(HOT, rising)
    assert first(found) is Party.SET_UP
    assert found.step.means(Step.LOOK_AT_COOLING)
    fans = Seen(UNPROVEN, heat=heat(keeps_rising=True, own_fans=True))
    assert blame(HOT, fans).card_alone
    rested = Seen(UNPROVEN, heat=heat(keeps_rising=False))
    assert first(blame(HOT, rested)) is Party.CARD
    assert blame(HOT, Seen(PROVEN, heat=heat(keeps_rising=True))).card_alone


def test_a_bench_cools_what_it_cooled_before_and_no_more() -> None:
    cooled = ProvenBench(Slot("0000:00:01.0", "bench"), width_lanes=16, speed_gts=16.0,
                         cooled_w=300.0)
    rising = heat(keeps_rising=True)
    assert blame(HOT, Seen(cooled, heat=rising, power=PowerSeen(drew_w=310.0))).card_alone
    more = blame(HOT, Seen(cooled, heat=rising, power=PowerSeen(drew_w=450.0)))
    assert first(more) is Party.SET_UP


@pytest.mark.parametrize(
    "power",
    [PowerSeen(stands=True), PowerSeen(impossible=True), PowerSeen(of_counter=0.66)],
)
def test_a_power_that_others_contradict_is_the_sensor_s(power: PowerSeen) -> None:
    assert first(blame(POWER, Seen(PROVEN, power=power))) is Party.SENSOR


def test_a_power_at_the_limit_that_the_card_names_is_no_sensor_s() -> None:
    at_limit = PowerSeen(of_counter=1.0, limit_in_force_w=300.0)
    plug_put_in_anew = blame(POWER, Seen(PROVEN, power=at_limit)).parties
    assert plug_put_in_anew == (Party.CARD, Party.SUPPLY)
    assert first(blame(POWER, Seen(UNPROVEN, power=at_limit))) is Party.SUPPLY
    elsewhere = PowerSeen(of_counter=1.0, limit_in_force_w=200.0)
    assert not blame(POWER, Seen(PROVEN, power=elsewhere)).card_alone


def test_a_driver_s_time_out_with_a_card_that_answers_is_the_driver_s_first() -> None:
    timed_out = kernel(Kernel.TIMED_OUT)
    assert first(blame(timed_out, Seen(UNPROVEN, on_the_bus=True))) is Party.DRIVER
    assert first(blame(timed_out, Seen(UNPROVEN, on_the_bus=False))) is Party.CARD


def test_a_caught_fault_is_the_driver_s_first_only_where_all_work_stayed_right() -> None:
    fault, here = kernel(Kernel.FAULT), Seen(UNPROVEN, on_the_bus=True)
    right = judge("failing_words", 0.0, "", Limit(0, 0))
    wrong = judge("results_that_changed", 3.0, "", Limit(0, 0))
    assert first(blame(fault, here, [fault, right])) is Party.DRIVER
    gone = Seen(UNPROVEN, on_the_bus=False)
    assert first(blame(fault, gone, [fault, right])) is Party.CARD
    unlike = blame(fault, here, [fault, right, wrong])
    assert unlike.parties.index(Party.CARD) < unlike.parties.index(Party.SUPPLY)


def test_all_screens_dark_at_once_is_no_single_fault_of_a_card() -> None:
    def screen(name: str, verdict: Verdict) -> Reading:
        return Reading(f"screen_detected {name}", "no", "", allowed=("yes",), verdict=verdict)

    dark = screen("DP-1", Verdict.FAIL)
    both = [dark, screen("DP-2", Verdict.FAIL)]
    found = blame(dark, Seen(UNPROVEN), both).parties
    assert found[0] is Party.MONITOR
    assert found.index(Party.DRIVER) < found.index(Party.CARD)
    lone = blame(dark, Seen(UNPROVEN), [dark, screen("DP-2", Verdict.PASS)]).parties
    assert Party.DRIVER not in lone


def test_a_reading_that_is_unsure_by_rule_names_its_parties_too() -> None:
    slow = Reading(
        "memory_clock_share", 0.3, "", 0.0, Limit(lower=0.85), (), Verdict.UNSURE,
        ReadingReason.NOT_READ(),
    )  # fmt: skip
    outcome = StageOutcome("2-memory", "memory", "", StageVerdict.CONDITIONAL)
    [work] = owed_to_decide([outcome], [of_stage(slow, "2-memory")], Seen(UNPROVEN))
    assert work.what.means(OwedWhat.READING)
    parties = work.reason["parties"]
    assert isinstance(parties, tuple)
    assert parties[0] == Party.DRIVER()
    [work] = owed_to_decide([outcome], [of_stage(slow, "2-memory")], Seen(PROVEN))
    assert work.reason["parties"] == (Party.DRIVER(), Party.CARD())  # it met other models there
