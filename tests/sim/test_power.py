from __future__ import annotations

import pytest

from burnin.sim.physics.power import IDLE, Activity, Power
from burnin.sim.scenario.build import build_card
from burnin.sim.scenario.model import load_scenario
from tests.sim.machines import bench_of, load, run_for


def power_of(name: str = "healthy") -> Power:
    scenario = load_scenario(name)
    return Power(scenario.card, build_card(scenario, 1))


def test_idle_draws_what_the_card_names_within_its_variation() -> None:
    power = power_of()
    assert power.heat(IDLE, 30.0).total_w == pytest.approx(22.0, rel=0.06)


def test_dynamic_power_goes_with_share_clock_and_the_square_of_the_voltage() -> None:
    power = power_of()
    power.advance(1.0, Activity(core=1.0), 40.0, 0.0)

    def dynamic(share: float) -> float:
        return power.heat(Activity(core=share), 40.0).die_w - power.heat(IDLE, 40.0).die_w

    full, clock, volt = dynamic(1.0), power.clock_mhz, power.voltage()
    assert dynamic(0.5) == pytest.approx(0.5 * full, rel=1e-9)
    power.clock_mhz = 0.6 * clock
    scaled = full * 0.6 * (power.voltage() / volt) ** 2
    assert dynamic(1.0) == pytest.approx(scaled, rel=1e-9)


def test_leakage_grows_with_heat() -> None:
    power = power_of()
    watts = [power.heat(IDLE, temp_c).die_w for temp_c in (20.0, 50.0, 80.0)]
    assert watts[2] - watts[1] > watts[1] - watts[0] > 0.0


@pytest.mark.parametrize("name", ["healthy", "healthy_x8", "healthy_compute"])
def test_the_boards_limit_holds_the_power_steady(name: str) -> None:
    bench = bench_of(name)
    limit_w = bench.machine.scenario.card.max_power_w
    load(bench, 20.0)
    seen = []
    for _ in range(300):
        run_for(bench, 0.1)
        seen.append(bench.machine.heat.total_w)
    assert max(seen) <= 1.01 * limit_w
    assert min(seen) >= 0.97 * limit_w
    assert bench.machine.power.clock_mhz < bench.machine.scenario.card.max_clock_mhz
