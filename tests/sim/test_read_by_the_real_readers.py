"""The readers of a real bench read the simulated one, and cannot tell."""

from __future__ import annotations

from dataclasses import fields

import pytest

from burnin.card.sources.linux_card import LinuxBench, LinuxCard
from burnin.core.reading import NotMeasured
from burnin.core.sample import FAN_NAMES, TELEMETRY_NAMES
from burnin.engine.job import ArithmeticLoad, LinkTraffic
from burnin.sim.scenario.model import load_scenario
from tests.sim.machines import bench_of, run_for, with_causes, work

HEALTHY = ["healthy", "healthy_loop", "healthy_bench_block", "healthy_x8", "healthy_compute"]


def card_of(files: object) -> LinuxCard:
    (card,) = LinuxBench(files, simulated=True).linux_cards()  # type: ignore[arg-type]
    return card


@pytest.mark.parametrize("name", HEALTHY)
def test_identity_is_read_whole(name: str) -> None:
    build = load_scenario(name).card
    identity = card_of(bench_of(name).files).identity()
    unknown = {f.name for f in fields(identity) if isinstance(getattr(identity, f.name),
                                                             NotMeasured)}
    assert unknown == {"uuid", "board_part_number"}  # sysfs has none
    assert (identity.vendor_id, identity.device_id) == (0xF5A7, build.device_id)
    assert identity.subsystem_id == build.subsystem_id
    assert identity.name == build.name
    assert identity.memory_bytes == build.memory.size_gib << 30
    assert identity.driver == "corvane"
    assert identity.class_code == (0x030200 if name == "healthy_compute" else 0x030000)
    assert identity.bars[0].size_bytes >= build.memory.size_gib << 30


@pytest.mark.parametrize("name", HEALTHY)
def test_every_sensor_that_is_fitted_is_read(name: str) -> None:
    bench = bench_of(name)
    card = card_of(bench.files)
    telemetry = card.telemetry()
    unknown = {n for n in TELEMETRY_NAMES if isinstance(getattr(telemetry, n), NotMeasured)}
    card_build = bench.machine.scenario.card
    count = card_build.fans if card_build.cooling == "air" else 0
    assert unknown == {name for fan in FAN_NAMES[count:] for name in fan}
    limits = card.temperature_limits()
    assert limits.shutdown_c == bench.machine.scenario.card.shutdown_c


@pytest.mark.parametrize("name", HEALTHY)
def test_the_link_is_at_its_best_under_traffic_at_both_ends(name: str) -> None:
    bench = bench_of(name)
    card, build = card_of(bench.files), bench.machine.scenario
    idle = card.link()
    bench.engine.begin(LinkTraffic(10.0))
    run_for(bench, 2.0)
    busy = card.link()
    assert not isinstance(busy.port, NotMeasured)
    for end in (busy.card, busy.port):
        assert end.width_lanes == build.card.width_lanes
        assert end.speed_gts == {4: 16.0, 5: 32.0}[build.card.generation]
    assert busy.card.max_width_lanes == build.card.width_lanes
    assert idle.card.speed_gts == (2.5 if build.card.drops_speed_when_idle else 32.0)


@pytest.mark.parametrize("name", HEALTHY)
def test_registers_agree_with_the_attributes(name: str) -> None:
    bench = bench_of(name)
    card = card_of(bench.files)
    bench.engine.begin(LinkTraffic(5.0))
    run_for(bench, 1.0)
    space, link = card.configuration_space(), card.link()
    assert not isinstance(space, NotMeasured)
    registers = space.link()
    assert not isinstance(registers, NotMeasured)
    assert registers.speed_gts == link.card.speed_gts
    assert registers.width_lanes == link.card.width_lanes
    assert registers.max_speed_gts == link.card.max_speed_gts
    assert space.max_payload_bytes() == 256
    assert space.serial_number() == bench.machine.scenario.card.serial


def test_lane_errors_of_a_marginal_contact_are_read_at_the_port() -> None:
    cause = {"kind": "contact", "contact": "A29", "state": "resistive", "ohms": 62.0}
    bench = bench_of(with_causes("healthy", cause))
    work(bench, LinkTraffic(10.0))
    card = card_of(bench.files)
    for end, lanes in (("port", (3,)), ("card", ())):
        space = card.configuration_space_at(end)
        assert not isinstance(space, NotMeasured)
        errors = space.lane_errors()
        assert not isinstance(errors, NotMeasured)
        assert tuple(errors) == lanes


def test_outputs_and_their_edid_are_read() -> None:
    from burnin.card.edid.base_block import parse_edid

    found = card_of(bench_of("dead_output").files).outputs()
    assert not isinstance(found, NotMeasured)
    states = {output.name: output.status for output in found}
    assert states == {
        "DP-1": "connected", "DP-2": "disconnected", "DP-3": "connected", "HDMI-A-1": "connected"
    }  # fmt: skip
    for output in found:
        if output.status == "connected":
            assert isinstance(output.edid, bytes)
            edid = parse_edid(output.edid)
            assert edid.problems == ()
            assert edid.preferred_mode is not None
            assert (edid.preferred_mode.width_px, edid.preferred_mode.height_px) == (2560, 1440)
            assert output.modes[0] == "2560x1440"


def test_a_card_without_outputs_says_so() -> None:
    assert card_of(bench_of("healthy_compute").files).outputs() == ()


def test_the_power_cap_is_told_as_the_reason_for_a_lower_clock() -> None:
    bench = bench_of("healthy")
    card = card_of(bench.files)
    assert card.telemetry().throttle_reasons == ()
    bench.engine.begin(ArithmeticLoad(1.0))
    run_for(bench, 20.0)
    assert card.telemetry().throttle_reasons == ("sustained power limit",)


def test_whoever_looks_at_the_bench_sees_that_it_is_simulated() -> None:
    bench = bench_of("healthy")
    product = bench.files.read_bytes("/sys/class/dmi/id/product_name").decode().strip()
    assert product == "burnin simulated machine"
    system = LinuxBench(bench.files).description()["operating_system"]
    assert isinstance(system, str)
    assert "simulated" in system
    assert bench.scenario == "healthy"
    assert bench.engine.description().simulated
    assert bench.attached_outputs == {"DP-1", "DP-2", "DP-3", "HDMI-A-1"}
