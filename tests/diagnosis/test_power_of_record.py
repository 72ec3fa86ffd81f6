"""A record's ramps tell of the supply: what was asked, what came, who held it back."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest

from burnin.core.reading import Limit, Reading, judge
from burnin.core.sample import Sample, Slowdown, Telemetry
from burnin.diagnosis.power.explain_power import explain_power
from burnin.diagnosis.power.faults import PowerCause
from burnin.diagnosis.power.look import POWER_LIMIT, SUPPLY_BRAKE, PowerLook
from burnin.diagnosis.power.of_record import NOTHING_SAID, TicketSays, look_at_power, ohm_by_contact
from burnin.record.open_tables import Tables
from burnin.record.reader import read_record
from burnin.record.writer import reading_cells, sample_cells
from burnin.stages.thermal_ramp.meanings import ThermalRampSource
from tests.diagnosis.records import run_json

RAMP = "6-thermal_ramp"
OWN_W = 350.0


def held(
    power_w: float,
    at_s: float = 0.0,
    length_s: float = 20.0,
    share: float = 1.0,
    load_w: float | None = None,
    words: tuple[Slowdown, ...] = (),
) -> list[Sample]:
    """One load held for a while, read once a second."""
    told = Telemetry(power_w=power_w, throttle_reasons=words)
    return [
        Sample(at_s + second, "", RAMP, told, load_share=share, load_w=load_w)
        for second in range(int(length_s) + 1)
    ]


def own_share(power_w: float) -> Reading:
    """What the ramp says of the card's own limit."""
    source = ThermalRampSource.OWN_LIMIT(limit_w=OWN_W, power_w=power_w)
    found = judge("own_power_share", power_w / OWN_W, "", Limit(lower=0.9), source=source)
    return Reading(**(vars(found) | {"stage": RAMP}))


def record(folder: Path, samples: Sequence[Sample], readings: Sequence[Reading] = ()) -> Path:
    run_json(folder, [{"stage": RAMP, "kind": "thermal_ramp"}])
    tables = Tables(folder, simulated=False)
    for sample in samples:
        tables.samples.append(sample_cells(sample))
    for reading in readings:
        tables.readings.append(reading_cells(reading))
    tables.close()
    return folder


def look(folder: Path, ticket: TicketSays = NOTHING_SAID) -> PowerLook | None:
    return look_at_power(read_record(folder), ticket)


def found(folder: Path, ticket: TicketSays = NOTHING_SAID) -> PowerLook:
    told = look(folder, ticket)
    assert told is not None
    return told


def test_full_work_is_told_with_the_limit_that_the_card_came_with(tmp_path: Path) -> None:
    samples = held(120.0, share=0.0, load_w=120.0) + held(341.0, at_s=30.0)
    told = found(record(tmp_path, samples, [own_share(341.0)]))
    assert told.default_limit_w == OWN_W
    assert [(s.asked_w, s.power_w) for s in told.steps] == [(120.0, 120.0), (OWN_W, 341.0)]
    assert explain_power(told)[0].cause is PowerCause.SOUND


@pytest.mark.parametrize(
    ("slowdown", "word"),
    [(Slowdown.SUSTAINED_POWER, POWER_LIMIT), (Slowdown.POWER_BRAKE, SUPPLY_BRAKE)],
)
def test_who_held_the_power_is_told(tmp_path: Path, slowdown: Slowdown, word: str) -> None:
    samples = held(200.0, words=(slowdown,))
    told = found(record(tmp_path, samples, [own_share(200.0)]))
    assert told.steps[0].throttle == (word,)


def test_an_open_sense_line_is_told_by_where_the_power_stands(tmp_path: Path) -> None:
    # S3 open leaves 300 W or 450 W; of a card for 450 W that stands at 366 W it left 300 W.
    source = ThermalRampSource.OWN_LIMIT(limit_w=450.0, power_w=366.0)
    share = judge("own_power_share", 366.0 / 450.0, "", Limit(lower=0.9), source=source)
    share = Reading(**(vars(share) | {"stage": RAMP}))
    folder = record(tmp_path, held(366.0), [share])
    first = explain_power(found(folder, TicketSays(plug="12v2x6")))[0]
    assert first.cause is PowerCause.SENSE
    assert {"12v2x6/S3", "12v2x6/S4"} == set(first.contacts)


@pytest.mark.parametrize(
    "samples",
    [
        pytest.param(held(120.0, share=0.5), id="work that asks for no power in watts"),
        pytest.param(held(300.0, length_s=4.0), id="a step that did not settle"),
        pytest.param(held(300.0, words=(Slowdown.HEAT,)), id="heat held it, not the supply"),
        pytest.param([], id="nothing was read"),
    ],
)
def test_what_says_nothing_of_the_supply_is_left_out(tmp_path: Path, samples: list[Sample]) -> None:
    assert look(record(tmp_path, samples, [own_share(300.0)])) is None


def test_a_meter_speaks_where_no_ramp_was_made(tmp_path: Path) -> None:
    measured = [("B2-trace", None, "Ω"), ("B1-trace", 0.2, "Ω"), ("B3", 0.4, "V")]
    ticket = TicketSays(meter_ohm=ohm_by_contact(measured), damaged=("B2",))
    assert ticket.meter_ohm == {"B2": None, "B1": 0.2}
    first = explain_power(found(run_json(tmp_path), ticket))[0]
    assert (first.cause, first.contacts[0]) == (PowerCause.CONTACT, "B2")
