"""Fail means the card: who is left for a failed reading, and in which order (law 15)."""

from __future__ import annotations

import pytest

from burnin.core.blame import Blame, blame
from burnin.core.evidence.seen import HeatSeen, LinkSeen, PowerSeen, Seen
from burnin.core.evidence.weighs import WEIGHS
from burnin.core.meaning import Reason
from burnin.core.parties import STEPS, Party, PartyReason, Sight
from burnin.core.proven_bench import NotProven, ProvenBench, ProvenOutput, Slot
from burnin.core.reading import Limit, Reading, ReadingReason, Verdict, judge, of_stage
from burnin.core.suspects import SUSPECTS, SUSPECTS_BY_REASON
from burnin.core.verdict import (
    Ended,
    OwedWhat,
    RunVerdict,
    StageOutcome,
    StageVerdict,
    VerdictReason,
    owed_to_decide,
    run_verdict,
)
from burnin.report.languages.catalogue import catalogue

WHY = ReadingReason.NOT_READ()
UNPROVEN = NotProven(WHY)
PROVEN = ProvenBench(
    slot=Slot("0000:00:01.0", "bench"),
    width_lanes=16,
    speed_gts=16.0,
    supply_w=450.0,
    outputs=(ProvenOutput("DP-1", "Fenwick 27"),),
)
WIDTH = judge("link_width_lanes", 8.0, "lanes", Limit(lower=16.0))
SPEED = judge("link_speed_gts", 8.0, "GT/s", Limit(lower=16.0))
ERRORS = judge("new_link_errors", 40.0, "", Limit(0, 0))
MEMORY = judge("failing_words", 3.0, "", Limit(0, 0))
SCREEN = Reading("screen_detected DP-1", "no", "", allowed=("connected",), verdict=Verdict.FAIL)


def hot(value: float = 92.0, name: str = "gpu_temp_max_c") -> Reading:
    return judge(name, value, "°C", Limit(upper=85.0), uncertainty=0.6)


def warmth(rest_c: dict[str, float], most_c: dict[str, float], fans: bool = True) -> Seen:
    return Seen(heat=HeatSeen(rest_c=rest_c, most_c=most_c, own_fans=fans))


def first(found: Blame) -> Party:
    return found.parties[0]


@pytest.mark.parametrize("reading", [WIDTH, SPEED, ERRORS], ids=lambda r: r.name)
def test_a_link_fault_is_the_cards_on_a_proven_slot_alone(reading: Reading) -> None:
    link = LinkSeen(most_lanes=8.0, most_gts=16.0)
    assert blame(reading, Seen(PROVEN, link)).card_alone
    for bench in (UNPROVEN, None):
        left = blame(reading, Seen(bench, link)).parties
        assert {Party.CARD, Party.SLOT, Party.RISER, Party.ROOT_PORT} <= set(left)


def test_a_slot_that_was_proven_for_less_proves_nothing_of_more() -> None:
    narrow = ProvenBench(slot=PROVEN.slot, width_lanes=8, speed_gts=16.0)
    assert not blame(WIDTH, Seen(narrow)).card_alone
    slow = ProvenBench(slot=PROVEN.slot, width_lanes=16, speed_gts=8.0)
    assert not blame(SPEED, Seen(slow)).card_alone


@pytest.mark.parametrize("name", ["failing_words", "results_that_changed", "new_memory_errors"])
def test_wrong_words_and_changed_results_are_the_cards_on_any_bench(name: str) -> None:
    reading = judge(name, 3.0, "", Limit(0, 0))
    assert blame(reading, Seen(UNPROVEN)).card_alone


def test_errors_on_many_lanes_and_at_both_ends_speak_of_the_riser() -> None:
    both = LinkSeen(errors={"card": 40, "port": 38}, lanes={"card": (1, 4, 9), "port": (0, 7)})
    assert first(blame(ERRORS, Seen(UNPROVEN, both))) is Party.RISER
    one = LinkSeen(errors={"card": 40, "port": 0}, lanes={"card": (3,), "port": ()})
    assert first(blame(ERRORS, Seen(UNPROVEN, one))) is Party.CARD


def test_a_port_that_is_set_to_less_speaks_of_the_set_up() -> None:
    held = LinkSeen(errors={"card": 0, "port": 0}, most_gts=8.0, target_gts=8.0)
    found = blame(SPEED, Seen(UNPROVEN, held))
    assert first(found) is Party.SET_UP
    step, _ = STEPS[Party.SET_UP]
    assert found.step.means(step)


def test_what_was_better_earlier_in_the_run_is_no_setting() -> None:
    found = blame(WIDTH, Seen(UNPROVEN, LinkSeen(most_lanes=16.0)))
    assert Party.SET_UP not in found.parties
    assert (Party.SET_UP, Sight.FULL_BEFORE) in found.ruled_out


def test_a_sensor_that_is_off_at_rest_comes_first_and_one_that_agrees_is_ruled_out() -> None:
    off = warmth({"gpu_temp_c": 30.0, "memory_temp_c": 88.0}, {"memory_temp_c": 95.0})
    found = blame(hot(name="memory_temp_max_c"), off)
    assert first(found) is Party.SENSOR
    agree = warmth({"gpu_temp_c": 30.0, "memory_temp_c": 33.0}, {"gpu_temp_c": 92.0})
    assert blame(hot(), agree).card_alone


def test_a_warm_room_comes_first_where_it_can_account_for_the_excess() -> None:
    warm = {"gpu_temp_c": 48.0, "memory_temp_c": 49.0}
    seen = warmth(warm, {"gpu_temp_c": 87.0, "memory_temp_c": 80.0})
    assert first(blame(hot(87.0), seen)) is Party.ROOM
    assert blame(hot(112.0), seen).card_alone


def test_a_screen_is_the_cards_only_on_an_output_with_known_monitor_and_cable() -> None:
    assert blame(SCREEN, Seen(PROVEN)).card_alone
    left = blame(SCREEN, Seen(UNPROVEN)).parties
    assert {Party.MONITOR, Party.CABLE} <= set(left)
    edid = Reading("edid DP-2", "damaged", "", allowed=("sound",), verdict=Verdict.FAIL)
    assert first(blame(edid, Seen(PROVEN))) is Party.MONITOR


def test_a_driver_that_hangs_is_never_the_cards_alone() -> None:
    lost = Reading("card_kept_working", "no", "", allowed=("yes",), verdict=Verdict.FAIL)
    found = blame(lost, Seen(PROVEN, power=PowerSeen(drew_w=300.0), on_the_bus=True))
    assert first(found) is Party.DRIVER
    assert Party.CARD in found.parties
    assert blame(lost, Seen(PROVEN, power=PowerSeen(drew_w=300.0), on_the_bus=False)).card_alone


def test_cards_beside_it_are_never_laid_to_the_card() -> None:
    missing = judge("cards_found", 0.0, "", Limit(lower=1.0))
    for bench in (PROVEN, UNPROVEN):
        assert Party.CARD not in blame(missing, Seen(bench)).parties


def outcome(verdict: StageVerdict = StageVerdict.FAIL) -> StageOutcome:
    return StageOutcome("3-link", "link", "", verdict, (WHY,))


def verdict_of(*readings: Reading, seen: Seen) -> tuple[RunVerdict, Reason]:
    taken = [of_stage(r, "3-link") for r in readings]
    return run_verdict([outcome()], (), Ended.DONE, None, taken, seen)


def test_a_run_fails_only_where_for_some_reading_the_card_alone_is_left() -> None:
    assert verdict_of(WIDTH, seen=Seen(UNPROVEN))[0] is RunVerdict.CONDITIONAL
    assert verdict_of(WIDTH, seen=Seen(PROVEN))[0] is RunVerdict.FAIL
    assert verdict_of(WIDTH, MEMORY, seen=Seen(UNPROVEN))[0] is RunVerdict.FAIL
    guard = run_verdict([outcome()], (), Ended.TRIPPED, WHY, [of_stage(WIDTH, "3-link")], Seen())
    assert guard[0] is RunVerdict.ABORTED


def test_a_conditional_run_names_the_parties_in_order_and_the_step() -> None:
    _, reason = verdict_of(WIDTH, seen=Seen(UNPROVEN))
    assert reason.means(VerdictReason.NOT_THE_CARD_ALONE)
    [told] = [part for part in reason.parts() if part.means(PartyReason.MAY_BE)]
    assert told["readings"] == ("link_width_lanes",)
    parties = told["parties"]
    assert isinstance(parties, tuple)
    assert parties[0] == Party.CARD()
    for language, slot, minutes in (
        ("en", "the slot", "about 2 minutes"),
        ("de", "der Steckplatz", "etwa 2 Minuten"),
    ):
        sentence = catalogue(language).say(reason)
        assert slot in sentence
        assert minutes in sentence


def test_what_decides_is_owed() -> None:
    [work] = owed_to_decide([outcome()], [of_stage(WIDTH, "3-link")], Seen(UNPROVEN))
    assert work.what.means(OwedWhat.READING)
    assert work.reason.means(PartyReason.TO_DECIDE)
    assert not owed_to_decide([outcome()], [of_stage(WIDTH, "3-link")], Seen(PROVEN))


def test_a_stage_that_failed_by_no_reading_is_the_cards() -> None:
    assert run_verdict([outcome()], (), Ended.DONE, None, (), Seen())[0] is RunVerdict.FAIL


@pytest.mark.parametrize("language", ["en", "de"])
def test_every_party_sight_and_step_has_words(language: str) -> None:
    words = catalogue(language)
    codes = [*Party, *Sight, *(step for step, _ in STEPS.values())]
    assert [code.value for code in codes if not words.knows(code.value)] == []


def test_the_tables_are_whole() -> None:
    assert set(STEPS) == set(Party) - {Party.CARD}
    assert set(WEIGHS) == set(Sight)
    for suspects in (*SUSPECTS.values(), *SUSPECTS_BY_REASON.values()):
        assert sum(suspects.weights.values()) == pytest.approx(1.0)
        assert suspects.source
    words = catalogue("en")
    unknown = [name for name in SUSPECTS if not words.names_reading(name)]
    assert unknown == []
