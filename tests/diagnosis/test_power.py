"""A power fault is laid to its cause, and to the contacts that a meter or the sense lines name."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.diagnosis.power.explain_power import PowerSuspect, explain_power, told
from burnin.diagnosis.power.faults import PowerCause, faults_of
from burnin.diagnosis.power.look import (
    POWER_LIMIT,
    SUPPLY_BRAKE,
    KnownGood,
    PowerLook,
    PowerStep,
)

ASKED_W = (30.0, 70.0, 110.0, 150.0, 175.0)
PLUG_MOHM, SLOT_MOHM, UNIT_MOHM = 8.0, 7.2, 1.0


def step(
    asked_w: float,
    plug_mohm: float = PLUG_MOHM,
    unit_mohm: float = UNIT_MOHM,
    reached_w: float | None = None,
    words: tuple[str, ...] = (),
) -> PowerStep:
    """One step by Ohm's law: what the unit and each path lose at 12.1 V, to 10 mV."""
    power_w = asked_w if reached_w is None else min(asked_w, reached_w)
    slot_w = 5.0 + 0.25 * power_w
    slot_a, plug_a = slot_w / 12.0, (power_w - slot_w) / 12.0
    unit_v = 12.1 - unit_mohm * (slot_a + plug_a) / 1e3
    return PowerStep(
        asked_w,
        power_w,
        round(unit_v - plug_mohm * plug_a / 1e3, 2),
        round(unit_v - SLOT_MOHM * slot_a / 1e3, 2),
        slot_w,
        words if reached_w is None or asked_w > reached_w else (),
    )


def steps(
    plug_mohm: float = PLUG_MOHM,
    unit_mohm: float = UNIT_MOHM,
    reached_w: float | None = None,
    words: tuple[str, ...] = (),
) -> tuple[PowerStep, ...]:
    return tuple(step(asked_w, plug_mohm, unit_mohm, reached_w, words) for asked_w in ASKED_W)


SOUND = PowerLook(
    plug="8pin",
    limit_w=175.0,
    default_limit_w=175.0,
    sensed_limit_w=150.0,
    steps=steps(),
    known_good_plug=KnownGood(9.1, 0.6, 6),
    known_good_slot=KnownGood(7.2, 1.1, 6),
    meter_ohm=dict.fromkeys(("8pin/1", "8pin/2", "8pin/3", "B1", "B2", "B3", "A2", "A3"), 0.3),
)


def metered(**ohm: float | None) -> PowerLook:
    """The sound card with other readings at edge contacts."""
    return replace(SOUND, meter_ohm={**SOUND.meter_ohm, **ohm})


def first(look: PowerLook) -> PowerSuspect:
    return explain_power(look)[0]


def chance(look: PowerLook, cause: PowerCause) -> float:
    return next(s.probability for s in explain_power(look) if s.cause is cause)


def test_a_sound_supply_is_nothing_to_tell() -> None:
    assert first(SOUND).cause is PowerCause.SOUND
    assert told(explain_power(SOUND)) == ()


@pytest.mark.parametrize(
    ("look", "cause"),
    [
        (replace(SOUND, steps=steps(plug_mohm=17.0), meter_ohm={}), PowerCause.CONTACT),
        (metered(B2=None), PowerCause.CONTACT),
        (metered(A3=45.0), PowerCause.CONTACT),
        (
            replace(SOUND, sensed_limit_w=75.0, steps=steps(reached_w=141.0, words=(POWER_LIMIT,))),
            PowerCause.SENSE,
        ),
        (replace(SOUND, sensed_limit_w=0.0), PowerCause.SENSE),
        (replace(SOUND, steps=steps(unit_mohm=25.0)), PowerCause.UNIT),
        (
            replace(SOUND, limit_w=110.0, steps=steps(reached_w=110.0, words=(POWER_LIMIT,))),
            PowerCause.LIMIT,
        ),
        (
            replace(SOUND, steps=tuple(replace(s, power_w=0.6 * s.power_w) for s in SOUND.steps)),
            PowerCause.ELSE,
        ),
        (
            replace(
                SOUND,
                steps=tuple(
                    replace(step(asked_w, reached_w=72.0), throttle=(SUPPLY_BRAKE,))
                    for asked_w in ASKED_W
                ),
            ),
            PowerCause.ELSE,
        ),
    ],
)
def test_the_cause_whose_signs_are_there_is_named(look: PowerLook, cause: PowerCause) -> None:
    assert first(look).cause is cause


@pytest.mark.parametrize("contact", ["B1", "B2", "B3", "A2", "A3"])
def test_a_contact_that_the_meter_finds_open_is_named_first(contact: str) -> None:
    assert first(metered(**{contact: None})).contacts[0] == contact


def test_two_open_contacts_are_both_named() -> None:
    assert set(first(metered(B1=None, A2=None)).contacts[:2]) == {"B1", "A2"}


@pytest.mark.parametrize(
    ("sensed_w", "reached_w", "contact"), [(75.0, 141.0, "8pin/4"), (0.0, 66.0, "8pin/6")]
)
def test_an_open_sense_line_is_told_by_the_power_it_leaves(
    sensed_w: float, reached_w: float, contact: str
) -> None:
    # ATX design guide: Sense1 open means a 6-pin plug, 75 W; the slot adds 66 W (PCIe CEM).
    held = steps(reached_w=reached_w, words=(POWER_LIMIT,))
    seen = replace(SOUND, sensed_limit_w=sensed_w, steps=held)
    for look in (seen, replace(seen, sensed_limit_w=None)):
        assert first(look).cause is PowerCause.SENSE
        assert first(look).contacts[0] == contact


def test_a_plug_path_that_rose_points_to_the_plug() -> None:
    look = replace(SOUND, steps=steps(plug_mohm=17.0), meter_ohm={})
    assert all(name.startswith("8pin/") for name in first(look).contacts)


def test_a_ticket_says_where_somebody_looked_and_no_more() -> None:
    unmetered = replace(SOUND, meter_ohm={})
    named = replace(unmetered, damaged=("B2",))
    before, after = (chance(look, PowerCause.CONTACT) for look in (unmetered, named))
    assert before < after < 0.6
    assert chance(replace(SOUND, damaged=("B2",)), PowerCause.CONTACT) < 0.2


def test_a_ticket_turns_to_the_contact_it_names() -> None:
    look = replace(SOUND, steps=steps(plug_mohm=17.0), meter_ohm={}, damaged=("8pin/3",))
    assert first(look).contacts[0] == "8pin/3"


def test_nothing_measured_gives_no_certainty() -> None:
    found = explain_power(PowerLook())
    assert sum(s.probability for s in found) == pytest.approx(1.0)
    assert found[0].probability < 0.5


def test_a_path_that_was_not_read_is_suspected_less_than_one_that_was() -> None:
    read = replace(SOUND, meter_ohm={})
    blind = replace(read, steps=tuple(replace(s, slot_v=None, slot_w=None) for s in SOUND.steps))
    assert 0.0 < chance(blind, PowerCause.CONTACT) < chance(read, PowerCause.CONTACT)


def test_a_card_that_reaches_its_own_limit_is_not_held_by_it() -> None:
    # Full work asks for more than any card takes: its driver names the limit, and nothing is wrong.
    top = replace(step(400.0, reached_w=175.0), throttle=(POWER_LIMIT,))
    assert first(replace(SOUND, steps=(*SOUND.steps, top))).cause is PowerCause.SOUND


def test_a_card_that_never_came_up_is_laid_to_its_sense_lines_before_its_contacts() -> None:
    look = PowerLook(plug="8pin", absent=True, meter_ohm={"8pin/4": None, "8pin/6": 9000.0})
    assert first(look).cause is PowerCause.SENSE
    assert first(look).contacts[0] == "8pin/4"


@pytest.mark.parametrize("plug", [None, "6pin", "8pin", "12v2x6", "hdmi", "unheard of"])
def test_weights_of_all_faults_add_up(plug: str | None) -> None:
    assert sum(f.weight for f in faults_of(PowerLook(plug=plug))) == pytest.approx(1.0, abs=0.02)


@pytest.mark.parametrize("cut_mohm", [9.0, 12.0, 20.0])
def test_the_meter_tells_more_than_the_voltages(cut_mohm: float) -> None:
    look = replace(metered(), steps=steps(plug_mohm=PLUG_MOHM + cut_mohm), meter_ohm={})
    surer = replace(look, meter_ohm={**SOUND.meter_ohm, "8pin/1": None})
    assert chance(surer, PowerCause.CONTACT) > 0.99
    assert first(surer).contacts[0] == "8pin/1"


FINITE = st.floats(allow_nan=False, allow_infinity=False)
MAYBE = st.none() | FINITE
POINTS = st.sampled_from(["8pin/1", "8pin/4", "12v2x6/S3", "B1", "A2", "supply_12v", "A64", "?"])


@given(
    plug=st.sampled_from([None, "6pin", "8pin", "12v2x6", "dp", ""]),
    numbers=st.tuples(MAYBE, MAYBE, MAYBE),
    found=st.lists(
        st.builds(
            PowerStep,
            asked_w=FINITE,
            power_w=FINITE | st.floats(0.0, 600.0),
            plug_v=MAYBE | st.floats(3.0, 20.0),
            slot_v=MAYBE | st.floats(3.0, 20.0),
            slot_w=MAYBE | st.floats(0.0, 200.0),
            throttle=st.lists(st.sampled_from([POWER_LIMIT, SUPPLY_BRAKE, "hot"]), max_size=2).map(
                tuple
            ),
        ),
        max_size=5,
    ).map(tuple),
    good=st.none() | st.builds(KnownGood, FINITE, FINITE, st.integers()),
    meter=st.dictionaries(POINTS, MAYBE, max_size=4),
    named=st.lists(POINTS, max_size=2).map(tuple),
    absent=st.booleans(),
)
def test_probabilities_add_up_whatever_was_read(
    plug: str | None,
    numbers: tuple[float | None, float | None, float | None],
    found: tuple[PowerStep, ...],
    good: KnownGood | None,
    meter: dict[str, float | None],
    named: tuple[str, ...],
    absent: bool,
) -> None:
    look = PowerLook(plug, *numbers, found, good, good, meter, named, named, absent)
    suspects = explain_power(look)
    assert sum(s.probability for s in suspects) == pytest.approx(1.0)
    assert {s.cause for s in suspects} == set(PowerCause)
    assert [s.probability for s in suspects] == sorted(s.probability for s in suspects)[::-1]
