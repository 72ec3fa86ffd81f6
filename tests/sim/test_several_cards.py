"""A simulated bench with several cards is read as a real one is; one card of it is worked."""

from __future__ import annotations

from pathlib import Path

from burnin.card.capabilities import Card
from burnin.core.errors import BadInput, ScenarioError
from burnin.core.reading import NotMeasured
from burnin.engine.job import ArithmeticLoad
from burnin.run.bench import OpenBench, Options, open_bench_for
from burnin.sim.scenario.several import bench_named, bench_names
from tests.refusals import refused

ADDRESSES = ["0000:01:00.0", "0000:02:00.0", "0000:03:00.0"]


def opened_at(address: str, bench: str = "three_cards") -> OpenBench:
    return open_bench_for(Options(simulated=bench, address=address))


def all_cards(opened: OpenBench) -> list[Card]:
    return sorted((opened.card, *opened.other_cards), key=lambda card: card.identity().address)


def power_w(card: Card) -> float:
    told = card.telemetry().power_w
    assert not isinstance(told, NotMeasured)
    return told


def test_every_card_has_an_address_a_number_and_a_slot_of_its_own() -> None:
    opened = opened_at("03:00.0")
    cards = all_cards(opened)
    assert [card.identity().address for card in cards] == ADDRESSES
    assert len({card.identity().serial for card in cards}) == 3
    positions = [card.position() for card in cards]
    assert [p.slot_number for p in positions if not isinstance(p, NotMeasured)] == [1, 2, 3]
    assert opened.identity is not None
    assert opened.identity.address == ADDRESSES[2]


def test_cards_behind_one_bridge_share_its_ports_and_no_other_card_does() -> None:
    ways = []
    for card in all_cards(opened_at("01:00.0")):
        position = card.position()
        assert not isinstance(position, NotMeasured)
        ways.append({port.address for port in position.ports[1:]})
    assert ways[0] == set()
    assert ways[1] == ways[2] != set()


def test_the_picked_card_alone_grows_busy_and_the_host_is_the_same_for_all() -> None:
    opened = opened_at("02:00.0")
    first, picked, third = all_cards(opened)
    rests_w = power_w(picked)
    assert not isinstance(opened.engine, NotMeasured)
    opened.engine.begin(ArithmeticLoad(1.0))
    for _ in range(50):
        opened.clock.sleep_s(0.1)
        opened.engine.beat()
    assert power_w(picked) > rests_w + 50.0
    assert max(power_w(first), power_w(third)) < rests_w + 5.0
    other = opened_at("01:00.0")
    assert other.bench.description()["boot_id"] == opened.bench.description()["boot_id"]


def test_a_card_that_is_not_there_is_named_with_those_that_are() -> None:
    with refused(BadInput, match=r"09:00\.0.*0000:03:00\.0"):
        opened_at("09:00.0")
    with refused(BadInput, match="--card"):
        opened_at("")


def test_shipped_benches_are_valid_and_a_faulty_file_is_told_by_field(tmp_path: Path) -> None:
    assert "three_cards" in bench_names()
    for name in bench_names():
        bench = bench_named(name)
        assert bench is not None
        assert bench.name == name
    file = tmp_path / "bench.toml"
    file.write_text('name = "b"\ntitle = "t"\n[[cards]]\nscenario = "healthy_x8"\ncount = 99\n')
    with refused(ScenarioError, match=r"bench\.toml: cards\[0\]\.count: given 99"):
        bench_named(str(file))
    assert bench_named("healthy") is None
