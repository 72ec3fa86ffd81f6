"""Who may be at fault where a guard ended a load, and where a stage was put off (law 15)."""

from __future__ import annotations

import pytest

from burnin.core.blame import blame, blames_of_ends
from burnin.core.evidence.ends import as_reading
from burnin.core.evidence.seen import HeatSeen, LinkSeen, PowerSeen, Seen
from burnin.core.meaning import Reason
from burnin.core.parties import Party, PartyReason, Step
from burnin.core.proven_bench import NotProven, ProvenBench, Slot
from burnin.core.reading import Limit, Reading, ReadingReason, Verdict, judge, of_stage
from burnin.core.suspects import SUSPECTS, SUSPECTS_OF_ENDS
from burnin.core.verdict import OwedWhat, StageOutcome, StageVerdict, owed_to_decide
from burnin.guard.meanings import GuardReason, GuardTerm
from burnin.run.reasons import RunReason

UNPROVEN = NotProven(ReadingReason.NOT_READ())
PROVEN = ProvenBench(slot=Slot("0000:00:01.0", "bench"), simulated=True)
HEAT = "2-thermal_ramp"
NEAR = GuardReason.NEAR_LIMIT(
    signal=GuardTerm.GPU(), temp_c=66.0, rise_k_per_s=3.3, margin_k=2.0, limit_c=72.0
)
SPOT = GuardReason.HOT_SPOT_OVER_GPU(over_k=47.0, for_s=2.0, limit_k=32.0)
POWER = GuardReason.POWER_OVER(power_w=625.0, for_s=1.0, limit_w=520.0)
STANDS = GuardReason.NO_ANSWER_TO_POWER(
    gpu_temp_c=31.0, waited_s=8.0, rise_w=430.0, allowed_s=8.0
)
WARM = RunReason.STILL_WARM(waited_s=61.0, gpu_temp_c=43.0, below_c=32.0)


def warmth(gpu_c: float, others_c: float, rose_k: float = 30.0, fans: bool = True) -> HeatSeen:
    rest = {"gpu_temp_c": gpu_c, "hotspot_temp_c": others_c, "memory_temp_c": others_c}
    return HeatSeen(rest, {name: value + rose_k for name, value in rest.items()}, own_fans=fans)


def ended_by(reason: Reason, seen: Seen) -> tuple[Party, ...]:
    [found] = blames_of_ends([(HEAT, (reason,))], (), seen)
    return found.parties


def test_a_load_that_the_room_ended_is_laid_to_the_room_and_then_to_the_card() -> None:
    assert ended_by(NEAR, Seen(PROVEN, heat=warmth(46.0, 46.0))) == (Party.ROOM, Party.CARD)
    assert ended_by(NEAR, Seen(PROVEN, heat=warmth(24.0, 25.0))) == (Party.CARD,)


def test_a_card_without_fans_may_lack_the_cooling_of_its_bench() -> None:
    cool = warmth(24.0, 25.0, fans=False)
    assert Party.SET_UP in ended_by(NEAR, Seen(UNPROVEN, heat=cool))
    assert Party.SET_UP not in ended_by(NEAR, Seen(UNPROVEN, heat=warmth(24.0, 25.0)))


def test_a_hot_spot_far_over_a_die_that_agrees_at_rest_is_the_cards_alone() -> None:
    assert ended_by(SPOT, Seen(PROVEN, heat=warmth(24.0, 25.0))) == (Party.CARD,)
    catches_up = HeatSeen({"gpu_temp_c": 24.0, "hotspot_temp_c": 25.0}, difference_passed=True)
    assert ended_by(SPOT, Seen(PROVEN, heat=catches_up))[0] is Party.SENSOR


def test_power_that_a_die_so_cool_cannot_draw_is_the_sensors() -> None:
    assert ended_by(POWER, Seen(PROVEN))[0] is Party.CARD
    lies = PowerSeen(drew_w=625.0, rest_w=270.0, without_heat=True)
    assert ended_by(POWER, Seen(PROVEN, power=lies))[0] is Party.SENSOR


def test_a_die_that_stands_while_others_follow_is_not_the_drivers() -> None:
    stood = HeatSeen(
        {"gpu_temp_c": 31.0, "hotspot_temp_c": 25.0}, {"gpu_temp_c": 31.0, "hotspot_temp_c": 60.0}
    )
    assert Party.DRIVER not in ended_by(STANDS, Seen(UNPROVEN, heat=stood))
    nobody = HeatSeen({"gpu_temp_c": 31.0}, {"gpu_temp_c": 31.0})
    assert Party.DRIVER in ended_by(STANDS, Seen(UNPROVEN, heat=nobody))


def test_what_is_warm_at_rest_is_told_apart_by_its_sensors_its_power_and_its_past() -> None:
    assert ended_by(WARM, Seen(UNPROVEN, heat=warmth(43.0, 43.0, rose_k=0.0)))[0] is Party.ROOM
    assert ended_by(WARM, Seen(UNPROVEN, heat=warmth(45.0, 25.0, rose_k=0.0)))[0] is Party.SENSOR
    busy = PowerSeen(drew_w=110.0, rest_w=110.0)
    warm = Seen(UNPROVEN, heat=warmth(41.0, 42.0, rose_k=0.0), power=busy)
    assert ended_by(WARM, warm)[0] is Party.DRIVER
    kept = Seen(UNPROVEN, heat=warmth(24.0, 25.0, fans=False))
    assert ended_by(WARM, kept)[0] is Party.SET_UP


def test_what_is_left_is_owed_with_the_step_that_decides() -> None:
    stopped = StageOutcome(HEAT, "thermal_ramp", "", StageVerdict.ABORTED, (NEAR,))
    later = StageOutcome(
        "3-compute", "compute", "", StageVerdict.NOT_MEASURED, (RunReason.NOT_REACHED(reason=NEAR),)
    )
    [owed] = owed_to_decide([stopped, later], (), Seen(PROVEN, heat=warmth(46.0, 46.0)))
    assert owed.what.means(OwedWhat.STAGE)
    assert owed.reason.means(PartyReason.TO_DECIDE)
    assert owed.reason["step"] == Step.COOLER_ROOM(minutes=15)
    [alone] = owed_to_decide([stopped], (), Seen(PROVEN, heat=warmth(24.0, 25.0)))
    assert alone.reason == PartyReason.ALONE(parties=(Party.CARD(),))


def test_what_failed_before_the_end_says_the_same_once() -> None:
    hot = of_stage(judge("gpu_temp_max_c", 92.0, "°C", Limit(upper=62.0), uncertainty=0.6), HEAT)
    after = RunReason.TRIPPED_AFTER_FAILURES(reason=NEAR, reasons=(hot.reason,))
    rises = HeatSeen({"gpu_temp_c": 23.0}, {"gpu_temp_c": 92.0}, keeps_rising=True)
    found = blames_of_ends([(HEAT, (after,))], (hot,), Seen(UNPROVEN, heat=rises))
    assert [one.reading for one in found] == [hot]
    assert found[0].parties[0] is Party.SET_UP


@pytest.mark.parametrize("reason", [NEAR, SPOT, POWER, STANDS, WARM, GuardReason.CARD_GONE()])
def test_every_end_has_its_suspects(reason: Reason) -> None:
    found = as_reading(HEAT, (reason,))
    assert found is not None
    assert found.name in {**SUSPECTS, **SUSPECTS_OF_ENDS}
    assert found.verdict is Verdict.FAIL


def test_a_person_who_stops_is_nobodys_fault() -> None:
    assert as_reading(HEAT, (GuardReason.STOPPED_BY_HAND(),)) is None


def test_a_proof_is_of_the_slot_as_it_was() -> None:
    """Errors both ways on many lanes are a channel's: a riser may have come in since."""
    errors = judge("new_link_errors", 40.0, "", Limit(0, 0))
    both = LinkSeen({"card": 40, "port": 38}, {"card": (1, 4, 9), "port": (0, 7)}, 16.0, 16.0)
    assert blame(errors, Seen(PROVEN, both)).parties == (Party.RISER, Party.CARD)
    one = LinkSeen({"card": 40, "port": 0}, {"card": (1, 4, 9), "port": ()}, 16.0, 16.0)
    assert blame(errors, Seen(PROVEN, one)).card_alone


def test_one_end_on_many_lanes_is_that_ends() -> None:
    errors = judge("new_link_errors", 40.0, "", Limit(0, 0))
    port = LinkSeen({"card": 0, "port": 38}, {"port": (0, 3, 7, 9)}, 16.0, 16.0)
    found = blame(errors, Seen(UNPROVEN, port)).parties
    assert found[0] is Party.ROOT_PORT
    assert found.index(Party.SLOT) < found.index(Party.RISER)


@pytest.mark.parametrize("name", ["power_w", "core_clock_share_of_own"])
def test_a_supply_that_fed_others_is_in_doubt_where_the_card_tells_a_lower_limit(
    name: str,
) -> None:
    low = Reading(name, 0.6, "", limit=Limit(lower=0.9), verdict=Verdict.FAIL)
    held = PowerSeen(drew_w=225.0, limit_in_force_w=225.0)
    proven = blame(low, Seen(PROVEN, power=held)).parties
    assert proven[0] is Party.CARD
    assert Party.SUPPLY in proven
    assert blame(low, Seen(UNPROVEN, power=held)).parties[0] is Party.SUPPLY
    assert blame(low, Seen(UNPROVEN, power=held)).step == Step.SEAT_PLUGS(minutes=3)
    assert Party.SUPPLY not in blame(low, Seen(PROVEN, power=PowerSeen(drew_w=225.0))).parties
