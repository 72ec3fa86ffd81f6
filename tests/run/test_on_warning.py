"""Ramps that hold back: they do not climb while a warning stands, and say what they gave up."""

from __future__ import annotations

from pathlib import Path

import pytest

from burnin.core.errors import ProfileError
from burnin.core.events import GuardTripped, SampleTaken, WarningGiven, WarningOver
from burnin.core.reading import Verdict
from burnin.core.verdict import RunVerdict
from burnin.stages.thermal_ramp.meanings import ThermalRampReason
from tests.evaluation.held_back import HOLDS_BACK, SHARES, WATTS
from tests.refusals import refused
from tests.run.driving import Ran, run_simulated, said
from tests.run.ramps import (
    DRY,
    LIMIT_C,
    figure,
    loose,
    notes,
    ramp_profile,
    readings,
    scenario,
)
from tests.run.test_own_ramp import hottest_c

FANS_STOP = '[[causes]]\nkind = "fan"\nstate = "stalls"\nafter_load_s = 40\n'
FLOW_STOPS = '[[causes]]\nkind = "coolant"\nstate = "flow_stops"\nafter_load_s = 5\n'


def held_back(
    folder: Path, cooling: str, causes: str, ramp: str, may: str = HOLDS_BACK
) -> Ran:
    card = scenario(folder, cooling, causes)
    word = "water" if cooling.startswith("water") else "fans"
    return run_simulated(card, ramp_profile(word, f"{ramp}\n{may}"), folder)


def climbs_while_warned(ran: Ran) -> float:
    """Most that the power asked for rose while a warning stood, share of work."""
    stands, rise, last = False, 0.0, None
    for event in ran.events:
        if isinstance(event, WarningGiven):
            stands, last = True, None
        elif isinstance(event, WarningOver):
            stands = False
        elif isinstance(event, SampleTaken) and stands:
            if last is not None:
                rise = max(rise, event.sample.load_share - last)
            last = event.sample.load_share
    return rise


CARDS = [
    ("water_loop", DRY, SHARES),
    ("water_loop", FLOW_STOPS, SHARES),
    ("air", FANS_STOP, SHARES),
    ("air", loose(8.0), SHARES),
]
LONG = [(cooling, causes, WATTS) for cooling, causes, _ in CARDS]


@pytest.mark.parametrize(
    ("cooling", "causes", "ramp"),
    [
        CARDS[0],
        *(pytest.param(*card, marks=pytest.mark.long) for card in CARDS[1:]),
        *(pytest.param(*card, marks=pytest.mark.long) for card in LONG),
    ],
)
def test_a_card_at_fault_is_named_before_a_guard_must_stop_it(
    cooling: str, causes: str, ramp: str, tmp_path: Path
) -> None:
    ran = held_back(tmp_path, cooling, causes, ramp)
    assert not [e for e in ran.events if isinstance(e, GuardTripped)]
    assert hottest_c(ran) < LIMIT_C["water" if cooling == "water_loop" else "fans"]
    assert climbs_while_warned(ran) <= 0.02
    found = readings(ran)
    assert found["cooling_state"].verdict is Verdict.FAIL
    gave_up = found["load_as_planned"]
    assert (gave_up.verdict, gave_up.required) == (Verdict.NOT_MEASURED, True)
    assert gave_up.reason is not None
    assert gave_up.reason.means(
        ThermalRampReason.STEPPED_DOWN, ThermalRampReason.ENDED_ON_WARNING
    )
    for name in ("drift_k", "power_w", "thermal_resistance_k_per_w"):
        assert found[name].verdict is not Verdict.PASS
    assert ran.outcome.verdict is RunVerdict.FAIL
    assert said(gave_up.reason) in notes(ran.events)


@pytest.mark.parametrize("cooling", ["air", pytest.param("water_loop", marks=pytest.mark.long)])
def test_a_sound_card_gives_nothing_up(cooling: str, tmp_path: Path) -> None:
    ran = held_back(tmp_path, cooling, "", SHARES)
    found = readings(ran)
    assert found["load_as_planned"].verdict is Verdict.PASS
    assert figure(found["waited_on_warning_s"]) == figure(found["rested_on_warning_s"]) == 0.0
    assert ran.outcome.verdict is RunVerdict.PASS


def test_without_the_table_nothing_is_said_of_warnings(tmp_path: Path) -> None:
    steps = "steps = [{ load_share = 0.25, hold_s = 10.0 }]\ncool_down_s = 0.0"
    found = readings(held_back(tmp_path, "air", "", steps, may=""))
    assert not {"load_as_planned", "waited_on_warning_s", "rested_on_warning_s"} & set(found)


def test_the_table_needs_the_forecast() -> None:
    with refused(ProfileError, match="on_warning needs forecast = true"):
        ramp_profile("fans", f"{SHARES}\n{HOLDS_BACK}", forecast=False)
