"""Sensors of a card read from its driver's hwmon folder, in the ways that drivers differ."""

from __future__ import annotations

from dataclasses import fields, replace
from pathlib import Path

import pytest

from burnin.card.files import HostFiles
from burnin.card.meanings import AttributeReason
from burnin.card.sources.linux_card import LinuxCard
from burnin.card.sources.meanings import LinuxReason, LinuxSourceOf
from burnin.core.meaning import Reason
from burnin.core.reading import NotMeasured
from burnin.core.sample import FAN_NAMES, Slowdown, Telemetry
from tests.card.sysfs_tree import CARD, HWMON, SysfsTree, corvane_bench

FOLDER = f"/sys/bus/pci/devices/{CARD}"


@pytest.fixture
def tree(tmp_path: Path) -> SysfsTree:
    return corvane_bench(tmp_path)


def reason(value: object) -> Reason:
    assert isinstance(value, NotMeasured)
    return value.reason


def bare(tmp_path: Path, **hwmon: str) -> SysfsTree:
    """A card whose driver shows these sensors and nothing more."""
    tree = SysfsTree(tmp_path)
    folder = tree.function(CARD, vendor="0xf5a7", device="0x0901", **{"class": "0x030000"})
    if hwmon:
        tree.hwmon(folder, 1, name="corvane", **hwmon)
    return tree


def test_all_sensors_in_their_units(tree: SysfsTree) -> None:
    told = LinuxCard(tree.files, CARD).telemetry()
    assert told == replace(
        Telemetry(
            gpu_temp_c=54.0,
            hotspot_temp_c=67.5,
            memory_temp_c=62.0,
            power_w=187.0,
            energy_j=told.energy_j,
            core_clock_mhz=2105.0,
            memory_clock_mhz=1249.0,
            busy_pct=37.0,
            fan_rpm=1432.0,
            fan_pct=told.fan_pct,
            link_speed_gts=8.0,
            link_width_lanes=8,
        ),
        throttle_reasons=told.throttle_reasons,
        **dict.fromkeys(
            (name for fan in FAN_NAMES[1:] for name in fan),
            NotMeasured(LinuxReason.NO_SUCH_SENSOR()),
        ),
    )
    assert told.energy_j == pytest.approx(91234.56789)
    assert told.fan_pct == pytest.approx(40.0)
    assert reason(told.throttle_reasons) == LinuxReason.SLOWDOWN_UNTOLD()


def test_limits_are_those_beside_the_temperatures(tree: SysfsTree) -> None:
    limits = LinuxCard(tree.files, CARD).temperature_limits()
    assert (limits.slowdown_c, limits.shutdown_c, limits.memory_max_c) == (100.0, 105.0, 98.0)


def test_labels_decide_not_numbers(tmp_path: Path) -> None:
    # As xe numbers them: the package is temp2, the memory temp3.
    tree = bare(
        tmp_path,
        temp2_input="48000",
        temp2_label="pkg",
        temp3_input="50000",
        temp3_label="vram",
        energy1_input="1000000",
    )
    told = LinuxCard(tree.files, CARD).telemetry()
    assert (told.gpu_temp_c, told.memory_temp_c, told.energy_j) == (48.0, 50.0, 1.0)
    assert reason(told.hotspot_temp_c) == LinuxReason.NO_SUCH_SENSOR()
    assert reason(told.power_w) == LinuxReason.NO_SUCH_SENSOR()


def test_without_labels_the_first_temperature_is_the_gpus(tmp_path: Path) -> None:
    tree = bare(tmp_path, temp1_input="41000", pwm1="35", pwm1_max="100")
    told = LinuxCard(tree.files, CARD).telemetry()
    assert told.gpu_temp_c == 41.0
    assert told.fan_pct == 35.0
    assert isinstance(told.memory_temp_c, NotMeasured)


def test_instantaneous_power_is_preferred_to_the_average(tmp_path: Path) -> None:
    tree = bare(tmp_path, power1_input="200000000", power1_average="150000000")
    assert LinuxCard(tree.files, CARD).telemetry().power_w == 200.0


def test_a_driver_without_sensors_says_so(tmp_path: Path) -> None:
    told = LinuxCard(bare(tmp_path).files, CARD).telemetry()
    values = [getattr(told, field.name) for field in fields(told)]
    assert all(isinstance(value, NotMeasured) for value in values)
    assert reason(told.gpu_temp_c) == LinuxReason.NO_SENSORS()


@pytest.mark.parametrize("name", ["temp1_input", "fan1_input", "power1_average", "freq2_input"])
def test_one_sensor_that_fails_leaves_the_others(tree: SysfsTree, name: str) -> None:
    card = LinuxCard(tree.files, CARD)
    before = card.telemetry()
    tree.write(f"{FOLDER}/hwmon/hwmon3/{name}", "garbage")
    after = card.telemetry()
    lost = [
        field.name for field in fields(after) if getattr(before, field.name) != getattr(
            after, field.name
        )
    ]
    assert len(lost) == 1
    assert reason(getattr(after, lost[0])).means(AttributeReason.NOT_A_NUMBER)


def test_sensors_are_found_again_after_their_folder_is_numbered_anew(tree: SysfsTree) -> None:
    card = LinuxCard(tree.files, CARD)
    assert card.telemetry().gpu_temp_c == 54.0
    tree.at(f"{FOLDER}/hwmon/hwmon3").rename(tree.at(f"{FOLDER}/hwmon/hwmon7"))
    card.telemetry()
    assert card.telemetry().gpu_temp_c == 54.0


def test_sensors_that_come_late_are_found(tmp_path: Path) -> None:
    tree = bare(tmp_path)
    card = LinuxCard(tree.files, CARD)
    assert isinstance(card.telemetry().gpu_temp_c, NotMeasured)
    tree.hwmon(f"/sys/devices/pci0000:00/{CARD}", 0, **HWMON)
    assert card.telemetry().gpu_temp_c == 54.0


class Counting(HostFiles):
    """Counts what is asked of the bench."""

    asked = 0

    def read_bytes(self, path: str, limit: int = 1 << 20) -> bytes:
        self.asked += 1
        return super().read_bytes(path, limit)

    def list_folder(self, path: str) -> list[str]:
        self.asked += 1
        return super().list_folder(path)

    def resolve(self, path: str) -> str:
        self.asked += 1
        return super().resolve(path)


def test_a_reading_asks_for_each_value_once(tree: SysfsTree) -> None:
    files = Counting(tree.root)
    card = LinuxCard(files, CARD)
    card.telemetry()
    files.asked = 0
    card.telemetry()
    assert files.asked == 12


def test_reasons_for_slowing_down_are_read_where_a_kernel_document_names_them(
    tree: SysfsTree,
) -> None:
    throttle = f"/sys/devices/pci0000:00/0000:00:01.0/{CARD}/tile0/gt0/freq0/throttle"
    for name in ("reason_pl1", "reason_thermal", "reason_prochot"):
        tree.write(f"{throttle}/{name}", "0")
    tree.write(f"{throttle}/status", "0")
    card = LinuxCard(tree.files, CARD)
    assert card.telemetry().throttle_reasons == ()
    tree.write(f"{throttle}/status", "1")
    tree.write(f"{throttle}/reason_pl1", "1")
    assert card.telemetry().throttle_reasons == (Slowdown.SUSTAINED_POWER,)
    tree.write(f"{throttle}/reason_thermal", "1")
    assert card.telemetry().throttle_reasons == (Slowdown.SUSTAINED_POWER, Slowdown.HEAT)
    tree.write(f"{throttle}/status", "?")
    assert isinstance(card.telemetry().throttle_reasons, NotMeasured)


def test_the_steps_of_the_sensors_name_their_source(tree: SysfsTree) -> None:
    resolution = LinuxCard(tree.files, CARD).resolution()
    assert resolution.temp_c == 1.0
    assert set(resolution.sources) == {"temp_c", "power_w", "refresh_s"}
    assert resolution.sources["temp_c"] == LinuxSourceOf.WHOLE_DEGREES()
