"""What keeps a card from starting is named, and what nothing tells apart is named together."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.connector.contact_map import contacts
from burnin.connector.other_connectors import connectors
from burnin.diagnosis.point_state import PointSaid, PointState, state_of_ohm, state_of_volt
from burnin.diagnosis.start.explain_start import (
    StartCandidate,
    StartLook,
    StartSuspect,
    explain_start,
    told,
)
from burnin.diagnosis.start.start_faults import StartPlace, start_faults

GONE = StartLook(absent=True, starts=(False, False, False), plug="8pin", edge_lanes=16)
UP = StartLook(starts=(True, True, True), plug="8pin", edge_lanes=16)
SIGNALS = ("A11", "A13", "A14", "A1", "B81", "8pin/4", "8pin/6", "supply_12v", "supply_3v3")


def first(look: StartLook) -> StartCandidate:
    return explain_start(look)[0]


def names(candidate: StartCandidate) -> set[str]:
    return {point for suspect in told(candidate) for point in suspect.points}


def best(look: StartLook) -> StartSuspect:
    return first(look).suspects[0]


def said(**states: PointState) -> tuple[PointSaid, ...]:
    return tuple(PointSaid(name, state) for name, state in states.items())


def test_an_absent_card_that_nobody_measured_may_have_any_of_its_start_faults() -> None:
    assert set(SIGNALS) <= names(first(GONE))
    assert not names(first(GONE)) & {"B48", "6pin/5", "B1"}


@pytest.mark.parametrize(
    ("point", "state", "place"),
    [
        ("A11", "open", StartPlace.RESET),
        ("A11", "low", StartPlace.RESET),
        ("A13", "open", StartPlace.CLOCK),
        ("A14", "low", StartPlace.CLOCK),
        ("A1", "open", StartPlace.PRESENCE),
        ("B81", "open", StartPlace.PRESENCE),
        ("supply_12v", "low", StartPlace.RAIL_SHORT),
        ("supply_3v3", "low", StartPlace.RAIL_SHORT),
        ("8pin/6", "open", StartPlace.SENSE_LINE),
    ],
)
def test_a_meters_word_names_the_one_that_it_fits(
    point: str, state: PointState, place: StartPlace
) -> None:
    found = first(replace(GONE, said=(PointSaid(point, state),)))
    assert (found.suspects[0].place, found.suspects[0].points) == (place, (point,))
    assert found.probability > 0.9


def test_points_that_measure_alike_are_left_out() -> None:
    look = replace(GONE, said=said(A11="alike", A1="alike", B81="alike", supply_12v="alike"))
    lane_zero = {"A16", "A17", "B14", "B15"}
    assert names(first(look)) == {"A13", "A14", "8pin/4", "8pin/6", "supply_3v3"} | lane_zero


def test_a_ticket_speaks_for_its_contacts_and_for_those_beside_without_deciding() -> None:
    def at(point: str, look: StartLook) -> float:
        found = [s for c in explain_start(look) for s in c.suspects]
        return sum(s.probability for s in found if s.points == (point,))

    near, named = replace(GONE, damaged=("A15",)), replace(GONE, damaged=("A13",))
    assert at("A13", GONE) < at("A13", near) < at("A13", named) < 0.9
    measured = replace(named, said=said(A11="open"))
    assert best(measured).points == ("A11",)


def test_starts_that_failed_at_times_are_no_broken_line() -> None:
    at_times = replace(UP, starts=(True, False, True, False, True))
    assert {s.place for s in told(first(at_times))} == {
        StartPlace.RESET, StartPlace.CLOCK, StartPlace.SEATING,
    }  # fmt: skip
    assert first(UP).nothing
    assert told(first(UP)) == ()


def test_a_card_that_came_up_once_is_not_held_by_an_open_line() -> None:
    found = first(replace(GONE, starts=(False, True, False, False)))
    assert found.suspects[0].place in (StartPlace.RESET, StartPlace.CLOCK)
    assert StartPlace.RAIL_SHORT not in {s.place for s in told(found)}


@pytest.mark.parametrize(
    ("plug", "sensed_w", "lines"),
    [
        ("6pin", 0.0, {"6pin/5"}),
        ("8pin", 75.0, {"8pin/4"}),
        ("8pin", 0.0, {"8pin/6"}),
        ("12v2x6", 450.0, {"12v2x6/S3", "12v2x6/S4"}),
        ("12v2x6", 300.0, {"12v2x6/S3", "12v2x6/S4"}),
    ],
)
def test_what_the_card_takes_its_plug_for_names_the_line(
    plug: str, sensed_w: float, lines: set[str]
) -> None:
    # The sense tables of connectors.toml (ATX12V design guide); rows of the 12V-2x6 with one line
    # open are known at second hand only, so neither line is singled out.
    found = first(replace(UP, plug=plug, sensed_w=sensed_w))
    assert names(found) == lines
    assert {s.place for s in told(found)} == {StartPlace.SENSE_LINE}


@pytest.mark.parametrize(("held_w", "line"), [(66.0, "8pin/6"), (141.0, "8pin/4")])
def test_where_a_card_is_held_names_the_line_too(held_w: float, line: str) -> None:
    # 66 W of the slot (5.5 A at 12 V) and what the plug is taken for.
    assert names(first(replace(UP, asked_w=180.0, held_w=held_w))) == {line}
    assert first(replace(UP, asked_w=180.0)).nothing


def test_one_contact_of_a_plug_or_two_that_are_poor() -> None:
    fed = ("8pin/1", "8pin/2", "8pin/3")

    def meter(*states: PointState) -> StartLook:
        return replace(UP, said=tuple(map(PointSaid, fed, states)))

    one = meter("alike", "open", "alike")
    assert best(one).points == ("8pin/2",)
    two = meter("off", "alike", "off")
    assert best(two).points == ("8pin/1", "8pin/3")
    assert best(two).place is StartPlace.SUPPLY_CONTACT


def test_an_open_ground_is_a_ground() -> None:
    look = replace(UP, said=said(A12="open", A15="alike"))
    assert (best(look).place, best(look).points) == (StartPlace.GROUND, ("A12",))


def test_a_card_that_left_under_load_by_what_sagged() -> None:
    left = replace(UP, lost=True)
    assert {StartPlace.POWER_PATH, StartPlace.JOINT} <= {s.place for s in told(first(left))}

    def share(look: StartLook, place: StartPlace) -> float:
        every = [s for c in explain_start(look) for s in c.suspects]
        return sum(s.probability for s in every if s.place is place)

    for sags, place in (
        ((True, True), StartPlace.SUPPLY_UNIT),
        ((False, True), StartPlace.SUPPLY_CONTACT),
        ((True, False), StartPlace.SUPPLY_CONTACT),
    ):
        assert share(replace(left, sags=sags), place) > 3.0 * share(left, place)


def test_values_are_judged_by_what_their_point_carries() -> None:
    assert state_of_ohm("supply_12v", 0.8) == "low"
    assert state_of_ohm("supply_12v", 40.0) == "alike"
    assert state_of_ohm("B1", 0.4) == "alike"
    assert state_of_ohm("B1", 20.0) == "off"
    assert state_of_ohm("A1", None) == "open"
    assert state_of_ohm("A11", 8000.0) == "alike"
    assert state_of_ohm("A11", 0.3) == "low"
    assert state_of_ohm("12v2x6/S3", 8000.0) == "alike"
    assert [state_of_volt(v) for v in (None, 0.002, 0.45)] == ["open", "low", "alike"]


STATES: tuple[PointState, ...] = ("alike", "open", "off", "low")


@given(
    absent=st.booleans(),
    lost=st.booleans(),
    starts=st.lists(st.booleans(), max_size=10),
    points=st.dictionaries(
        st.sampled_from([*contacts(), *SIGNALS]), st.sampled_from(STATES), max_size=12
    ),
    damaged=st.sets(st.sampled_from([*contacts()]), max_size=4),
    plug=st.none() | st.sampled_from(["", "6pin", "8pin", "12v2x6"]),
    lanes=st.none() | st.sampled_from([1, 2, 4, 8, 16]),
    watts=st.tuples(*[st.none() | st.floats(0.0, 700.0)] * 3),
)
def test_probabilities_add_up_whatever_was_seen(
    absent: bool,
    lost: bool,
    starts: list[bool],
    points: dict[str, PointState],
    damaged: set[str],
    plug: str | None,
    lanes: int | None,
    watts: tuple[float | None, float | None, float | None],
) -> None:
    look = StartLook(
        absent, lost, tuple(starts), said(**points), tuple(sorted(damaged)), plug, lanes, *watts
    )
    found = explain_start(look)
    assert sum(c.probability for c in found) == pytest.approx(1.0)
    assert [c.probability for c in found] == sorted((c.probability for c in found), reverse=True)
    for candidate in found:
        whole = sum(s.probability for s in candidate.suspects)
        assert whole == pytest.approx(candidate.probability)


def test_every_fault_is_at_points_that_there_are() -> None:
    plugs = {c.name for key in ("6pin", "8pin", "12v2x6") for c in connectors()[key].contacts}
    for plug in ("6pin", "8pin", "12v2x6"):
        for fault in start_faults(plug, 16, ["A12"]):
            assert set(fault.points) <= {*contacts(), *plugs, "supply_12v", "supply_3v3"}
            assert fault.weight > 0.0
