from __future__ import annotations

import time
from datetime import timedelta

import pytest

from burnin.card.files import BenchFiles
from burnin.core.clock import Clock
from burnin.engine.engine import Engine
from burnin.sim.clock import SimulatedClock
from burnin.sim.files.simulated_files import SimulatedFiles
from burnin.sim.physics.machine import Machine
from burnin.sim.scenario.model import load_scenario
from tests.sim.machines import all_paths, bench_of

CARD = "/sys/bus/pci/devices/0000:01:00.0"
REAL = "/sys/devices/pci0000:00/0000:00:01.0/0000:01:00.0"


@pytest.fixture
def files() -> SimulatedFiles:
    return bench_of("healthy").files


def test_both_answer_the_seams_of_a_real_bench(files: SimulatedFiles) -> None:
    seam: BenchFiles = files
    bench = bench_of("healthy")
    clock: Clock = bench.clock
    engine: Engine = bench.engine
    assert engine.poll() == ()
    assert seam.resolve("/") == "/"
    assert clock.monotonic_s() == 0.0


@pytest.mark.parametrize(
    ("path", "real"),
    [
        (CARD, REAL),
        (f"{CARD}/driver", "/sys/bus/pci/drivers/corvane"),
        (f"{CARD}/driver/module", "/sys/module/corvane"),
        ("/sys/class/drm/card0-DP-1/device/device", REAL),
        ("/sys/class/hwmon/hwmon0/device", REAL),
        (f"{CARD}/../../0000:00:01.0/./vendor", "/sys/devices/pci0000:00/0000:00:01.0/vendor"),
    ],
)
def test_links_lead_where_they_lead_on_linux(files: SimulatedFiles, path: str, real: str) -> None:
    assert files.resolve(path) == real


@pytest.mark.parametrize(
    ("path", "error"),
    [
        (f"{CARD}/nothing", FileNotFoundError),
        (f"{CARD}/vendor/more", NotADirectoryError),
        (CARD, IsADirectoryError),
        ("/sys/class/drm", IsADirectoryError),
    ],
)
def test_errors_are_those_of_the_operating_system(
    files: SimulatedFiles, path: str, error: type[OSError]
) -> None:
    with pytest.raises(error):
        files.read_bytes(path)


def test_a_file_is_no_folder_and_a_missing_one_is_missing(files: SimulatedFiles) -> None:
    with pytest.raises(NotADirectoryError):
        files.list_folder(f"{CARD}/vendor")
    with pytest.raises(FileNotFoundError):
        files.list_folder("/sys/class/thermal")


def test_reads_end_at_the_limit(files: SimulatedFiles) -> None:
    assert len(files.read_bytes(f"{CARD}/config")) == 4096
    assert files.read_bytes(f"{CARD}/config", 4) == b"\xa7\xf5\x09\x00"


def test_every_file_can_be_read_and_every_listed_name_resolves(files: SimulatedFiles) -> None:
    paths = all_paths(files)
    assert len(paths) > 100
    for path in paths:
        assert isinstance(files.read_bytes(path), bytes)
        assert files.resolve(path) == path


def test_a_passive_card_has_neither_fans_nor_connectors() -> None:
    files = bench_of("healthy_compute").files
    assert not [n for n in files.list_folder("/sys/class/hwmon/hwmon0") if "fan" in n or "pwm" in n]
    assert files.list_folder("/sys/class/drm") == ["card0", "version"]
    assert files.read_bytes(f"{CARD}/class") == b"0x030200\n"


def test_sleeping_is_what_moves_the_machine() -> None:
    machine = Machine(load_scenario("healthy"), 1)
    clock = SimulatedClock(machine)
    begin = clock.utc()
    clock.sleep_s(600.0)
    clock.sleep_s(-1.0)
    assert clock.monotonic_s() == pytest.approx(600.0)
    assert clock.utc() - begin == pytest.approx(timedelta(minutes=10), abs=timedelta(seconds=1))
    assert clock.utc().tzinfo is not None


def test_a_pace_makes_simulated_time_take_real_time() -> None:
    clock = SimulatedClock(Machine(load_scenario("healthy"), 1), pace=50.0)
    begin_s = time.monotonic()
    for _ in range(20):
        clock.sleep_s(0.5)
    assert time.monotonic() - begin_s >= 10.0 / 50.0 - 0.01
    assert clock.monotonic_s() == pytest.approx(10.0)


def test_a_pace_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="above 0"):
        SimulatedClock(Machine(load_scenario("healthy"), 1), pace=0.0)
