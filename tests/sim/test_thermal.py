from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.linalg import expm

from burnin.sim.physics.thermal import ThermalNetwork


def one_node(capacity: float, conductance: float, start_c: float) -> ThermalNetwork:
    network = ThermalNetwork({"block": capacity}, start_c)
    network.join("block", "air", conductance)
    return network


@pytest.mark.parametrize("seconds", [0.5, 5.0, 60.0, 600.0])
def test_one_node_follows_the_closed_form_of_a_step(seconds: float) -> None:
    # T(t) = T_air + P/G (1 - exp(-t G/C)), the first-order step response.
    capacity, conductance, power_w, air_c = 300.0, 8.0, 450.0, 22.0
    network = one_node(capacity, conductance, air_c)
    network.advance(seconds, [power_w], air_c)
    rise = power_w / conductance * (1.0 - math.exp(-seconds * conductance / capacity))
    assert network.at("block") == pytest.approx(air_c + rise, abs=0.01)


def test_stiff_network_agrees_with_the_matrix_exponential() -> None:
    capacity = {"die": 9.0, "cooler": 610.0, "coolant": 3350.0}
    links = {(0, 1): 20.0, (1, 2): 45.0}
    network = ThermalNetwork(capacity, 20.0)
    network.join("die", "cooler", links[0, 1])
    network.join("cooler", "coolant", links[1, 2])
    network.join("coolant", "air", 30.0)
    network.advance(25.0, [300.0, 10.0, 0.0], 20.0)
    heat = np.array([capacity[name] for name in network.names])
    system = np.zeros((4, 4))
    for (i, j), g in links.items():
        system[i, i] -= g
        system[j, j] -= g
        system[i, j] += g
        system[j, i] += g
    system[2, 2] -= 30.0
    system[:3, 3] = [300.0, 10.0, 30.0 * 20.0]
    system[:3] /= heat[:, None]
    exact = expm(25.0 * system) @ np.array([20.0, 20.0, 20.0, 1.0])
    assert network.temp_c == pytest.approx(exact[:3].tolist(), abs=0.01)


@settings(max_examples=40)
@given(
    power_w=st.lists(st.floats(0.0, 700.0), min_size=2, max_size=2),
    capacity=st.lists(st.floats(5.0, 4000.0), min_size=2, max_size=2),
    conductance=st.lists(st.floats(0.0, 60.0), min_size=3, max_size=3),
    seconds=st.floats(0.01, 200.0),
)
def test_heat_put_in_is_stored_or_given_to_the_air(
    power_w: list[float], capacity: list[float], conductance: list[float], seconds: float
) -> None:
    network = ThermalNetwork({"a": capacity[0], "b": capacity[1]}, 20.0)
    network.join("a", "b", conductance[0])
    network.join("a", "air", conductance[1])
    network.join("b", "air", conductance[2])
    network.advance(seconds, power_w, 20.0)
    put_in = sum(power_w) * seconds
    assert network.stored_j(20.0) + network.heat_to_air_j == pytest.approx(
        put_in, rel=1e-9, abs=1e-6
    )


def test_steps_in_between_do_not_change_the_course() -> None:
    at_once, in_steps = one_node(300.0, 5.0, 20.0), one_node(300.0, 5.0, 20.0)
    at_once.advance(30.0, [200.0], 20.0)
    for _ in range(300):
        in_steps.advance(0.1, [200.0], 20.0)
    assert at_once.at("block") == pytest.approx(in_steps.at("block"), abs=0.01)
