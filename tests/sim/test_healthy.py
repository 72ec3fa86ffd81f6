from __future__ import annotations

from typing import Any

import pytest

from burnin.card.sources.linux_card import LinuxBench
from burnin.core.reading import NotMeasured, known
from burnin.core.sample import Telemetry
from burnin.engine.job import ArithmeticLoad, LinkTraffic
from tests.sim.machines import all_paths, bench_of, run_for, snapshot, work

# Peak die, hot spot and memory temperature (°C) and power (W) that the class of card may show
# after three minutes of full load, or one minute at a third for a block without loop; common
# practice, no source.
BOUNDS: dict[str, tuple[float, float, float, float, float, float]] = {
    "healthy": (1.0, 180.0, 78.0, 92.0, 95.0, 475.0),
    "healthy_loop": (1.0, 180.0, 62.0, 78.0, 80.0, 475.0),
    "healthy_bench_block": (0.3, 60.0, 65.0, 75.0, 75.0, 200.0),
    "healthy_x8": (1.0, 180.0, 76.0, 90.0, 90.0, 140.0),
    "healthy_compute": (1.0, 120.0, 75.0, 88.0, 85.0, 735.0),
}


@pytest.mark.parametrize("seed", [1, 2, 17, 99, 1234, 20251])
@pytest.mark.parametrize("name", sorted(BOUNDS))
def test_a_sound_card_stays_in_bounds_whatever_the_seed(name: str, seed: int) -> None:
    share, seconds, die_c, hotspot_c, memory_c, power_w = BOUNDS[name]
    bench = bench_of(name, seed)
    (card,) = LinuxBench(bench.files).linux_cards()
    before = card.error_counters()
    work(bench, LinkTraffic(20.0))
    rows: list[Telemetry] = []
    bench.engine.begin(ArithmeticLoad(share))
    for _ in range(int(seconds)):
        run_for(bench, 1.0)
        rows.append(card.telemetry())
    for signal, bound in (
        ("gpu_temp_c", die_c), ("hotspot_temp_c", hotspot_c), ("memory_temp_c", memory_c),
        ("power_w", power_w),
    ):  # fmt: skip
        seen = [known(getattr(row, signal)) for row in rows]
        assert max(value for value in seen if value is not None) <= bound
    last = rows[-1]
    assert not isinstance(last.power_w, NotMeasured)
    assert last.power_w > 0.8 * share * bench.machine.scenario.card.max_power_w
    assert last.link_width_lanes == bench.machine.scenario.card.width_lanes
    assert card.error_counters() == before
    assert bench.machine.card_answers


def test_counters_need_not_start_at_zero() -> None:
    firsts = set()
    for seed in range(12):
        (card,) = LinuxBench(bench_of("healthy", seed).files).linux_cards()
        counters = card.error_counters()
        assert not isinstance(counters, NotMeasured)
        firsts.add(sum(counter.value for counter in counters))
    assert len(firsts) > 1


def course(seed: int) -> list[dict[str, bytes]]:
    bench = bench_of("slow_link_under_load", seed)
    seen = [snapshot(bench.files)]
    for job in (LinkTraffic(5.0), ArithmeticLoad(1.0)):
        bench.engine.begin(job)
        run_for(bench, 6.0)
        seen.append(snapshot(bench.files))
        bench.engine.stop()
    return seen


def test_a_seed_gives_the_same_bytes_again_and_another_seed_others() -> None:
    first, again, other = course(5), course(5), course(6)
    assert first == again
    assert first != other


def test_reading_changes_nothing() -> None:
    watched, alone = bench_of("healthy", 3), bench_of("healthy", 3)
    for bench in (watched, alone):
        bench.engine.begin(ArithmeticLoad(0.5))
    for _ in range(50):
        run_for(watched, 0.1)
        for path in all_paths(watched.files, "/sys/class/hwmon/hwmon0"):
            watched.files.read_bytes(path)
    run_for(alone, 5.0)
    assert snapshot(watched.files) == snapshot(alone.files)


def test_fans_rest_when_cool_and_answer_to_heat_late() -> None:
    bench = bench_of("healthy")
    fans = bench.machine.cooling.fans
    assert fans is not None
    assert fans.rpm == 0.0
    bench.engine.begin(ArithmeticLoad(1.0))
    speeds: list[float] = []
    while not speeds or speeds[-1] == 0.0:
        run_for(bench, 0.1)
        speeds.append(fans.rpm)
    run_for(bench, 0.5)
    early_rpm = fans.rpm
    run_for(bench, 120.0)
    assert 0.0 < early_rpm < 0.6 * fans.rpm
    bench.engine.stop()
    bench.clock.sleep_s(300.0)
    assert fans.rpm == 0.0


def test_sensors_answer_in_steps_and_late() -> None:
    bench = bench_of("healthy")
    machine = bench.machine
    bench.engine.begin(ArithmeticLoad(1.0))
    run_for(bench, 1.0)
    path = "/sys/class/hwmon/hwmon0/temp1_input"
    code = int(bench.files.read_bytes(path))
    assert code % 1000 == 0
    assert code / 1000 < machine.network.at("die") - 3.0
    run_for(bench, 200.0)
    assert int(bench.files.read_bytes(path)) / 1000 == pytest.approx(
        machine.network.at("die"), abs=1.5
    )


def test_the_energy_counter_is_the_integral_of_power() -> None:
    bench = bench_of("healthy")
    path = "/sys/class/hwmon/hwmon0/energy1_input"
    before = int(bench.files.read_bytes(path))
    bench.engine.begin(ArithmeticLoad(0.6))
    watts: list[Any] = []
    for _ in range(100):
        run_for(bench, 0.1)
        watts.append(int(bench.files.read_bytes("/sys/class/hwmon/hwmon0/power1_average")) / 1e6)
    spent_j = (int(bench.files.read_bytes(path)) - before) / 1e6
    assert spent_j == pytest.approx(sum(watts) * 0.1, rel=0.01)
