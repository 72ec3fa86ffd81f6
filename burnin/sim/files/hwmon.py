"""The card's hwmon folder: temperatures in m°C, power in µW, energy in µJ, clocks in Hz.

Names and units: the kernel's Documentation/hwmon/sysfs-interface.rst; the energy counter and the
labels ``edge``, ``junction``, ``mem``, ``sclk``, ``mclk`` are as GPU drivers name them.
"""

from __future__ import annotations

import errno
import math
import os
from collections.abc import Callable

from burnin.sim.causes.sensors import FANS
from burnin.sim.files.answers import hung
from burnin.sim.physics.machine import Machine


def _answer(
    machine: Machine, value: Callable[[], float | None], sensor: str = ""
) -> Callable[[], bytes]:
    """A sensor's file: ENODEV when the card is gone, ETIMEDOUT when its driver hangs, EIO when the
    sensor cannot be read. One that waits for its answer lets time pass on the machine."""

    def read() -> bytes:
        waits_s = machine.sensors.hangs_s(sensor)
        if waits_s > 0.0:
            machine.advance(waits_s)
        if not machine.card_answers:
            raise OSError(errno.ENODEV, os.strerror(errno.ENODEV), "hwmon")
        if machine.driver_hangs:
            raise hung("hwmon")
        number = value()
        if number is None:
            raise OSError(errno.EIO, os.strerror(errno.EIO), "hwmon")
        told = f"{round(number)}" if math.isfinite(number) else f"{number}"
        return f"{told}\n".encode()

    return read


def _scaled(machine: Machine, sensor: str, scale: float) -> Callable[[], bytes]:
    def value() -> float | None:
        number = machine.sensors.read(sensor)
        return None if number is None else number * scale

    return _answer(machine, value, sensor)


def _energy(machine: Machine) -> Callable[[], bytes]:
    def value() -> float | None:
        told_j = machine.sensors.read("energy")
        if told_j is None or not math.isfinite(told_j):
            return told_j
        return machine.counters.energy_uj(told_j)

    return _answer(machine, value, "energy")


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
        files[f"temp{number}_input"] = _scaled(machine, sensor, 1000.0)
        files[f"temp{number}_crit"] = _fixed(f"{critical * 1000:.0f}")
        files[f"temp{number}_emergency"] = _fixed(f"{emergency * 1000:.0f}")
    files["power1_average"] = _scaled(machine, "power", 1e6)
    files["power1_cap"] = _fixed(f"{machine.power.cap_w * 1e6:.0f}")
    files["power1_cap_default"] = _fixed(f"{card.max_power_w * 1e6:.0f}")
    files["power1_cap_max"] = _fixed(f"{card.max_power_w * 1e6:.0f}")
    files["energy1_input"] = _energy(machine)
    files["freq1_label"] = _fixed("sclk")
    files["freq1_input"] = _answer(machine, lambda: machine.power.clock_mhz * 1e6)
    files["freq2_label"] = _fixed("mclk")
    files["freq2_input"] = _answer(machine, lambda: card.memory_clock_mhz * 1e6)
    for number, sensor in zip(range(1, len(machine.cooling.each_fan) + 1), FANS, strict=False):
        files |= _fan_files(machine, number, sensor)
    return files


def _fan_files(machine: Machine, number: int, sensor: str) -> dict[str, Callable[[], bytes]]:
    fan = machine.cooling.each_fan[number - 1]
    return {
        f"fan{number}_input": _scaled(machine, sensor, 1.0),
        f"fan{number}_min": _fixed("0"),
        f"fan{number}_max": _fixed("3000"),
        f"pwm{number}": _answer(machine, lambda: fan.duty * 255.0),
        f"pwm{number}_enable": _fixed("2"),
        f"pwm{number}_max": _fixed("255"),
    }
