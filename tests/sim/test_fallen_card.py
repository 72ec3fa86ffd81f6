from __future__ import annotations

import errno

import pytest

from burnin.card.sources.linux_card import LinuxBench
from burnin.core.reading import NotMeasured
from burnin.engine.job import ArithmeticLoad, Failed
from burnin.engine.meanings import EngineReason
from burnin.sim.physics.power import HeldDown
from tests.sim.machines import bench_of, run_for, with_causes

FOLDER = "/sys/bus/pci/devices/0000:01:00.0"
LOST = EngineReason.CARD_LOST(how=EngineReason.NO_ANSWER())


def test_a_card_that_falls_off_the_bus_under_load() -> None:
    bench = bench_of("falls_off_bus")
    (card,) = LinuxBench(bench.files).linux_cards()
    assert card.present()
    bench.engine.begin(ArithmeticLoad(1.0))
    events = run_for(bench, 44.0)
    assert card.present()
    events = run_for(bench, 2.0)
    assert events[-1] == Failed(LOST, device_lost=True)
    assert not card.present()
    assert bench.files.read_bytes(f"{FOLDER}/config") == b"\xff" * 4096
    with pytest.raises(OSError, match="No such device") as caught:
        bench.files.read_bytes(f"{FOLDER}/hwmon/hwmon0/temp1_input")
    assert caught.value.errno == errno.ENODEV
    assert bench.files.read_bytes(f"{FOLDER}/vendor") == b"0xf5a7\n"  # the kernel remembers it


def test_what_is_read_of_a_fallen_card_is_not_measured() -> None:
    bench = bench_of("falls_off_bus")
    (card,) = LinuxBench(bench.files).linux_cards()
    bench.engine.begin(ArithmeticLoad(1.0))
    run_for(bench, 46.0)
    telemetry = card.telemetry()
    for name in ("gpu_temp_c", "power_w", "core_clock_mhz", "link_speed_gts"):
        assert isinstance(getattr(telemetry, name), NotMeasured)
    counters = card.error_counters()
    assert not isinstance(counters, NotMeasured)
    down = [c.value for c in counters if c.end == "port" and c.name.startswith("surprise down")]
    assert sum(down) == 1


def test_work_begun_on_a_fallen_card_is_lost_at_once() -> None:
    bench = bench_of("falls_off_bus")
    bench.engine.begin(ArithmeticLoad(1.0))
    run_for(bench, 46.0)
    bench.engine.begin(ArithmeticLoad(1.0))
    assert bench.engine.poll()[-1] == Failed(LOST, device_lost=True)


def test_a_card_too_warm_for_its_joint_falls_off() -> None:
    cause = {"kind": "bus", "state": "falls_off", "above_board_c": 35.0}
    bench = bench_of(with_causes("healthy", cause))
    bench.clock.sleep_s(60.0)
    answered = [bench.machine.card_answers]
    bench.engine.begin(ArithmeticLoad(1.0))
    run_for(bench, 200.0)
    answered.append(bench.machine.card_answers)
    assert answered == [True, False]
    assert bench.machine.network.at("board") <= 35.5


def test_a_card_whose_heat_goes_nowhere_slows_down_and_then_cuts_its_power() -> None:
    bench = bench_of("no_coolant")
    machine = bench.machine
    limit_c = machine.scenario.card.shutdown_c
    bench.engine.begin(ArithmeticLoad(1.0))
    slowed, hottest_c, watts = False, 0.0, []
    for _ in range(600):
        run_for(bench, 0.5)
        hottest_c = max(hottest_c, machine.network.at("die"))
        slowed = slowed or machine.power.held_down is HeldDown.HEAT
        watts.append(machine.heat.total_w)
    assert slowed
    assert hottest_c < limit_c + 1.0
    assert min(watts) < 0.7 * max(watts)


def test_power_is_off_and_the_die_cools_once_the_card_is_gone() -> None:
    bench = bench_of("falls_off_bus")
    bench.engine.begin(ArithmeticLoad(1.0))
    run_for(bench, 46.0)
    hot_c = bench.machine.network.at("die")
    bench.clock.sleep_s(60.0)
    assert bench.machine.heat.total_w == 0.0
    assert bench.machine.network.at("die") < hot_c - 10.0
