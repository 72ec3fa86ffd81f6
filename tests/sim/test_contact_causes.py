"""Contacts that touch, come and go, or carry the supply; capacitors, risers and host settings."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.card.sources.linux_card import LinuxBench
from burnin.connector.contact_map import beside, contacts, twin
from burnin.connector.other_connectors import connectors
from burnin.core.reading import NotMeasured
from burnin.engine.job import ArithmeticLoad, LinkTraffic
from burnin.sim.bench import SimulatedBench
from burnin.sim.causes.kinds import ContactCause
from burnin.sim.physics.card_down import CardDown
from burnin.sim.physics.contacts import ContactState, contact_states
from burnin.sim.physics.power import HeldDown
from burnin.sim.physics.supply import SupplyPath, sensed_w
from tests.sim.machines import bench_of, load, run_for, with_causes, work


def contact(name: str, **more: object) -> dict[str, Any]:
    return {"kind": "contact", "contact": name, "state": "open"} | more


def touching(name: str, neighbour: str) -> dict[str, Any]:
    return contact(name, state="short_to_neighbour", neighbour=neighbour)


def width(bench: SimulatedBench) -> int:
    return bench.machine.link.width_lanes


@pytest.mark.parametrize("lane", range(16))
def test_legs_that_touch_each_other_are_a_dead_lane(lane: int) -> None:
    leg = next(c for c in contacts().values() if c.group == "lane_rx" and c.lane == lane)
    other = twin(leg)
    assert other is not None
    opened = bench_of(with_causes("healthy", contact(leg.name)))
    shorted = bench_of(with_causes("healthy", touching(leg.name, other.name)))
    assert width(shorted) == width(opened)


def test_a_short_to_the_ground_beside_is_a_short_to_ground() -> None:
    # B54 lies beside the ground contact B53.
    assert contacts()["B53"].group == "ground"
    beside_it = contact_states([ContactCause(**touching("B54", "B53"))], 25.0, 0.0)
    to_ground = contact_states([ContactCause(**contact("B54", state="short_to_ground"))], 25.0, 0.0)
    assert beside_it == to_ground == {"B54": ContactState(0.0, shorted=True)}


@given(name=st.sampled_from(sorted(contacts())), which=st.integers(0, 1))
def test_a_short_is_the_same_from_either_side(name: str, which: int) -> None:
    near = beside(contacts()[name])
    other = near[which % len(near)].name
    there = contact_states([ContactCause(**touching(name, other))], 25.0, 0.0)
    back = contact_states([ContactCause(**touching(other, name))], 25.0, 0.0)
    assert there == back


@pytest.mark.parametrize(
    ("name", "neighbour", "why"),
    [
        ("B3", "B4", CardDown.TWELVE_VOLTS_SHORTED),
        ("A2", "A1", CardDown.TWELVE_VOLTS_SHORTED),
        ("B8", "B7", CardDown.THREE_VOLTS_SHORTED),
        ("A11", "A10", CardDown.NO_RESET),
        ("A13", "A14", CardDown.NO_CLOCK),
        ("A14", "A15", CardDown.NO_CLOCK),
    ],
)
def test_shorts_that_keep_the_card_from_starting(
    name: str, neighbour: str, why: CardDown
) -> None:
    machine = bench_of(with_causes("healthy", touching(name, neighbour))).machine
    assert not machine.started
    assert machine.fallen_because is why


@pytest.mark.parametrize(("name", "neighbour"), [("A6", "A7"), ("B1", "B2"), ("B5", "B6")])
def test_shorts_that_the_card_does_not_feel(name: str, neighbour: str) -> None:
    bench = bench_of(with_causes("healthy", touching(name, neighbour)))
    assert width(bench) == 16


def test_a_contact_that_comes_and_goes_retrains_the_link_narrower() -> None:
    cause = contact("B54", after_s=130.0, every_s=60.0, for_s=0.5)
    bench = bench_of(with_causes("healthy", cause))
    assert width(bench) == 16
    bench.clock.sleep_s(15.0)
    # The lane is back after half a second, but a link does not widen by itself.
    assert width(bench) == 8
    assert bench.machine.link.reliability_bit


def test_a_contact_that_opens_with_warmth() -> None:
    bench = bench_of(with_causes("healthy", contact("A22", above_board_c=40.0)))
    assert width(bench) == 16
    load(bench, 120.0)
    assert width(bench) == 1


def test_a_capacitor_acts_as_its_contact_does() -> None:
    cause = {"kind": "coupling_capacitor", "lane": 5, "leg": "p", "state": "open"}
    of_capacitor = bench_of(with_causes("healthy", cause))
    name = next(
        c.name for c in contacts().values()
        if (c.group, c.lane, c.polarity) == ("lane_tx", 5, "p")
    )  # fmt: skip
    assert width(of_capacitor) == width(bench_of(with_causes("healthy", contact(name)))) == 4


def test_a_spring_of_the_slot_acts_as_the_finger_does() -> None:
    for at in ("card", "slot"):
        assert width(bench_of(with_causes("healthy", contact("B33", at=at)))) == 4


def test_a_poor_riser_costs_speed_and_no_lane() -> None:
    bench = bench_of(with_causes("healthy", riser_loss_db=8.0))
    work(bench, LinkTraffic(10.0))
    assert width(bench) == 16
    assert bench.machine.link.speed_gts == 8.0
    assert bench.machine.link.reliability_bit


def test_a_speed_that_the_host_holds_leaves_no_trace_of_trouble() -> None:
    bench = bench_of(with_causes("healthy", held_generation=2))
    (card,) = LinuxBench(bench.files).linux_cards()
    before = card.error_counters()
    work(bench, LinkTraffic(10.0))
    assert bench.machine.link.speed_gts == 5.0
    assert not bench.machine.link.reliability_bit
    assert card.error_counters() == before
    port = card.configuration_space_at("port")
    assert not isinstance(port, NotMeasured)
    link = port.link()
    assert not isinstance(link, NotMeasured)
    assert (link.target_speed_gts, link.max_speed_gts) == (5.0, 16.0)


def test_power_saving_that_keeps_the_link_low_under_work() -> None:
    bench = bench_of(with_causes("healthy", power_saving="keeps_low"))
    work(bench, LinkTraffic(10.0))
    assert bench.machine.link.speed_gts == 2.5


@pytest.mark.parametrize("lost", [1, 2, 3])
def test_some_lost_12_v_contacts_hold(lost: int) -> None:
    causes = [contact(name) for name in ("B1", "B2", "B3")[:lost]]
    bench = bench_of(with_causes("healthy", *causes))
    load(bench, 60.0)
    assert bench.machine.card_answers


def test_one_12_v_contact_left_burns_open_under_load_and_not_idle() -> None:
    causes = [contact(name) for name in ("B1", "B2", "B3", "A2")]
    bench = bench_of(with_causes("healthy", *causes))
    bench.clock.sleep_s(120.0)
    assert bench.machine.card_answers
    load(bench, 120.0)
    assert bench.machine.fallen_because is CardDown.NO_TWELVE_VOLTS


def test_a_resistive_12_v_path_sags_under_load() -> None:
    causes = [contact(name) for name in ("B1", "B2", "B3", "A2")]
    bad = contact("A3", state="resistive", ohms=0.5)
    bench = bench_of(with_causes("healthy", *causes, bad))
    bench.clock.sleep_s(30.0)
    assert bench.machine.card_answers
    bench.engine.begin(ArithmeticLoad(1.0))
    run_for(bench, 30.0)
    assert bench.machine.fallen_because is CardDown.TWELVE_VOLTS_SAG


@given(current_a=st.floats(0.1, 5.5), lost=st.integers(0, 4))
def test_fewer_contacts_never_run_cooler(current_a: float, lost: int) -> None:
    names = ("B1", "B2", "B3", "A2", "A3")
    opened = {name: ContactState(float("inf")) for name in names[:lost]}
    whole, part = SupplyPath(names, 1.1), SupplyPath(names, 1.1)
    whole.advance(5.0, {}, current_a)
    part.advance(5.0, opened, current_a)
    assert part.rise_k["A3"] >= whole.rise_k["A3"]


def test_rated_current_warms_a_contact_by_thirty_kelvin() -> None:
    # EIA-364-70: contacts are rated at the current that warms them by 30 K.
    path = SupplyPath(("A2",), 1.1)
    for _ in range(300):
        path.advance(1.0, {}, 1.1)
    assert path.rise_k["A2"] == pytest.approx(30.0, rel=0.01)


@pytest.mark.parametrize(
    ("key", "opened", "watts"),
    [
        # Intel ATX guide 336521, table 5-6 (8-pin), and Wikipedia, "16-pin 12VHPWR connector".
        ("8pin", set(), 150.0),
        ("8pin", {"8pin/4"}, 75.0),
        ("8pin", {"8pin/6"}, 0.0),
        ("8pin", {"8pin/4", "8pin/6"}, 0.0),
        ("6pin", set(), 75.0),
        ("12v2x6", set(), 600.0),
        ("12v2x6", {"12v2x6/S3", "12v2x6/S4"}, 0.0),
    ],
)
def test_what_a_plug_allows_by_its_sense_lines(key: str, opened: set[str], watts: float) -> None:
    assert sensed_w(connectors()[key], opened) == watts


def test_a_missing_sense_line_holds_the_power_down() -> None:
    content = with_causes(
        "plugged", {"kind": "power_plug", "plug": 0, "contact": "S4", "state": "open"}
    )
    bench = bench_of(content)
    load(bench, 60.0)
    assert bench.machine.heat.total_w == pytest.approx(bench.machine.power.cap_w, rel=0.05)
    assert bench.machine.power.cap_w < 400.0
    assert bench.machine.power.held_down is HeldDown.POWER_LIMIT


def test_a_plug_that_is_not_sensed_keeps_the_card_down() -> None:
    causes = [
        {"kind": "power_plug", "plug": 0, "contact": name, "state": "open"} for name in ("S3", "S4")
    ]
    assert not bench_of(with_causes("plugged", *causes)).machine.started
