"""Cases of the link keep the standard's rules and their own."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from burnin.connector.training import widest_link
from tests.others.explained.bench import Bench
from tests.others.explained.cases import VISIBILITIES, Case, Fault
from tests.others.explained.draw import cases
from tests.others.explained.edge import legs, neighbours, width_of
from tests.others.explained.effects import GONE, Effects
from tests.others.explained.link_cases import scene_of, seen_of, shows
from tests.others.explained.link_faults import stays_on_bench
from tests.others.explained.meter import measured
from tests.others.explained.traffic import look, train

PLAIN = Bench(generation=4, card_generation=4, card_width=16)


@cache
def _drawn() -> list[Case]:
    return list(cases("link", 1901, 600))


def test_width_by_the_standard() -> None:
    """Against the project's own reading of the standard, with lanes dead at random."""
    rng = np.random.default_rng(1)
    for _ in range(500):
        dead = {int(n) for n in rng.choice(16, rng.integers(0, 5), replace=False)}
        assert width_of(dead, PLAIN.widths, 16, top=False) == widest_link(dead)
        assert width_of(dead, PLAIN.widths, 16, top=True) == widest_link(dead, reversed_=True)


@pytest.mark.parametrize(("side", "end"), [("B", 0), ("A", 1)])
def test_errors_count_where_they_are_received(side: str, end: int) -> None:
    effects = Effects({(side, 5): 10.5})
    told = look(replace(PLAIN, coughs=0.0), effects, False, np.random.default_rng(2))
    assert told.errors[end] > 0
    assert told.errors[1 - end] == 0
    assert told.lanes_after[end] == [5]
    assert told.lanes_after[1 - end] == []


def test_dead_lane_narrows_without_errors() -> None:
    told = look(PLAIN, Effects({("A", 9): GONE}), False, np.random.default_rng(3))
    assert (told.width, told.generation, told.errors) == (8, 4, (0, 0))


def test_no_lane_nought_no_card() -> None:
    assert train(PLAIN, Effects({("B", 0): GONE})).width == 0
    assert train(replace(PLAIN, from_top=True), Effects({("B", 0): GONE})).width == 8
    turning = replace(PLAIN, can_reverse=True)
    assert train(turning, Effects({("B", 0): GONE})).width == 8
    assert not train(turning, Effects({("B", 15): GONE})).from_top
    assert train(turning, Effects({("B", 0): GONE}, width_cap=8)).width == 0


def test_deaf_above_five_gigatransfers() -> None:
    effects = Effects(ceiling={("A", 3): 2})
    assert train(PLAIN, effects).generation == 2
    narrowed = train(replace(PLAIN, narrows=True), effects)
    assert (narrowed.width, narrowed.generation) == (2, 4)


def test_bits_only_from_eight_gigatransfers() -> None:
    noisy = Effects(everywhere=(60.0, 60.0), generation_cap=2)
    told = look(PLAIN, noisy, False, np.random.default_rng(4))
    assert max(told.errors) > 0
    assert told.lanes_after == ([], [])


def test_stuck_bits_are_there_before() -> None:
    stuck = replace(PLAIN, stuck=(frozenset({2}), frozenset(range(16))))
    told = look(stuck, Effects(), False, np.random.default_rng(5))
    assert told.lanes_before == told.lanes_after == ([2], list(range(16)))


def test_bits_only_grow_and_sound_quiet_benches_stay_clean() -> None:
    quiet = 0
    for one in _drawn():
        for told in one.seen.looks:
            for before, after in zip(told.lanes_before, told.lanes_after, strict=True):
                assert before is None or set(before) <= set(after)
        if one.truth.fault.kind == "sound" and not one.truth.nuisance:
            quiet += 1
            for told in one.seen.looks:
                assert told.width == told.most_width
                assert all(n is None or n <= 5 for n in told.errors)
    assert quiet > 50


def test_warm_only_is_sound_cold() -> None:
    seen = 0
    for one in _drawn():
        warm_only = one.truth.fault.warm_only and one.truth.second is None
        if not warm_only or one.truth.nuisance or one.visibility not in ("all", "no_counters"):
            continue
        seen += 1
        cold = one.seen.looks[0]
        assert not cold.warm
        assert (cold.width, cold.generation) == (cold.most_width, cold.most_generation)
    assert seen > 5


def test_known_good_card_takes_the_cards_faults_away() -> None:
    freed = 0
    for one in _drawn():
        faults = [one.truth.fault, one.truth.second]
        if one.truth.nuisance or any(f is not None and stays_on_bench(f) for f in faults):
            continue
        for told in one.seen.known_good:
            freed += 1
            assert told.width == told.most_width == 16
    assert freed > 30


def test_same_spring_as_contact_but_known_good_shows_it() -> None:
    hit = legs("A", 8)
    for kind, width in (("slot spring", 8), ("contact", 16)):
        rng = np.random.default_rng(7)
        scene = scene_of(PLAIN, (Fault(kind, hit, 8, "A", "open both"),), rng)
        assert train(PLAIN, scene.cold).width == 8
        assert train(PLAIN, scene.bench_only).width == width


def test_presence_only_where_it_is_watched() -> None:
    for watches in (True, False):
        bench = replace(PLAIN, watches_presence=watches)
        rng = np.random.default_rng(8)
        scene = scene_of(bench, (Fault("presence", ("B81",), None, "B", "open"),), rng)
        seen, _ = seen_of(scene, "all", rng)
        assert seen.absent is watches


def test_tickets_right_near_elsewhere() -> None:
    right = near = other = 0
    for one in _drawn():
        faults = [f for f in (one.truth.fault, one.truth.second) if f is not None]
        true = {name for fault in faults for name in fault.contacts if "/" not in name}
        named = set(one.seen.ticket.damaged)
        if not true or not named:
            continue
        beside = {n for name in true for n in neighbours(name)}
        right += bool(named & true)
        near += bool(not named & true and named & beside)
        other += not named & (true | beside)
    total = right + near + other
    assert 0.3 < right / total < 0.5
    assert near / total > 0.2
    assert other / total > 0.2


def test_meter_finds_an_open_leg_but_no_capacitor() -> None:
    rng = np.random.default_rng(9)
    open_leg = Fault("contact", ("B23",), 2, "B", "open")
    capacitor = Fault("capacitor", ("A25",), 2, "A", "open")
    found = [measured([open_leg, capacitor], ["B23", "B27", "A25"], rng) for _ in range(400)]
    open_share = sum(row[0].volt_diode is None for row in found) / len(found)
    assert open_share > 0.93
    assert all(row[1].volt_diode is not None for row in found)
    assert all(row[2].ohm is not None and row[2].ohm < 1 for row in found)


def test_errors_show_only_to_those_who_can_read_them() -> None:
    hit = legs("A", 8)
    rng = np.random.default_rng(10)
    scene = scene_of(PLAIN, (Fault("contact", hit[:1], 8, "A", "resistive"),), rng)
    scene = replace(scene, cold=Effects({("A", 8): 8.0}), warm=Effects({("A", 8): 8.0}))
    shown = [shows(scene, visibility) for visibility in VISIBILITIES]
    assert shown == [True, False, True, False]


def test_where_nothing_shows_looks_are_as_of_a_sound_card() -> None:
    hidden = [one for one in _drawn() if one.truth.fault.kind != "sound" and not one.truth.shows]
    assert hidden
    for one in hidden:
        assert not one.seen.absent
        assert not one.seen.lost
