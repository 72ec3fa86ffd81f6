"""The card's hwmon folder: temperatures in m°C, power in µW, energy in µJ, clocks in Hz.

Names and units: the kernel's Documentation/hwmon/sysfs-interface.rst; the energy counter and the
labels ``edge``, ``junction``, ``mem``, ``sclk``, ``mclk`` are as GPU drivers name them.
"""

from __future__ import annotations

import errno
import os
from collections.abc import Callable

from burnin.sim.files.answers import hung
from burnin.sim.physics.machine import Machine


def _answer(machine: Machine, value: Callable[[], float | None]) -> Callable[[], bytes]:
    """A sensor's file: ENODEV when the card is gone, ETIMEDOUT when its driver hangs, EIO when the
    sensor cannot be read."""

    def read() -> bytes:
        if not machine.card_answers:
            raise OSError(errno.ENODEV, os.strerror(errno.ENODEV), "hwmon")
        if machine.driver_hangs:
            raise hung("hwmon")
        number = value()
        if number is None:
            raise OSError(errno.EIO, os.strerror(errno.EIO), "hwmon")
        return f"{round(number)}\n".encode()

    return read


def _scaled(machine: Machine, sensor: str, scale: float) -> Callable[[], float | None]:
    def value() -> float | None:
        number = machine.sensors.read(sensor)
        return None if number is None else number * scale

    return value


def _fixed(value: str) -> Callable[[], bytes]:
    return lambda: f"{value}\n".encode()


def hwmon_files(machine: Machine) -> dict[str, Callable[[], bytes]]:
    """Files of ``hwmon0`` by name; a card without fans has no fan files."""
    card = machine.scenario.card
    files: dict[str, Callable[[], bytes]] = {"name": _fixed("corvane")}
    thermometers = (
        (1, "edge", "die", card.slowdown_c, card.shutdown_c),
        (2, "junction", "hotspot", card.slowdown_c + 15.0, card.shutdown_c + 18.0),
        (3, "mem", "memory", card.memory_max_c, card.memory_max_c + 15.0),
    )
    for number, label, sensor, critical, emergency in thermometers:
        files[f"temp{number}_label"] = _fixed(label)
        files[f"temp{number}_input"] = _answer(machine, _scaled(machine, sensor, 1000.0))
        files[f"temp{number}_crit"] = _fixed(f"{critical * 1000:.0f}")
        files[f"temp{number}_emergency"] = _fixed(f"{emergency * 1000:.0f}")
    files["power1_average"] = _answer(machine, _scaled(machine, "power", 1e6))
    files["power1_cap"] = _fixed(f"{machine.power.cap_w * 1e6:.0f}")
    files["power1_cap_default"] = _fixed(f"{card.max_power_w * 1e6:.0f}")
    files["power1_cap_max"] = _fixed(f"{card.max_power_w * 1e6:.0f}")
    files["energy1_input"] = _answer(machine, lambda: machine.sensors.energy_j * 1e6)
    files["freq1_label"] = _fixed("sclk")
    files["freq1_input"] = _answer(machine, lambda: machine.power.clock_mhz * 1e6)
    files["freq2_label"] = _fixed("mclk")
    files["freq2_input"] = _answer(machine, lambda: card.memory_clock_mhz * 1e6)
    fans = machine.cooling.fans
    if fans is not None:
        files["fan1_input"] = _answer(machine, _scaled(machine, "fan", 1.0))
        files["fan1_min"] = _fixed("0")
        files["fan1_max"] = _fixed("3000")
        files["pwm1"] = _answer(machine, lambda: fans.duty * 255.0)
        files["pwm1_enable"] = _fixed("2")
        files["pwm1_max"] = _fixed("255")
    return files
