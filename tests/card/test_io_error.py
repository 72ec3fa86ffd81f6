"""A sensor that answers with an error is there: no guard and no check takes it for absent."""

from __future__ import annotations

import errno
import os

import pytest

from burnin.card.attributes import Attributes
from burnin.card.file_errors import FileReason
from burnin.card.files import BenchFiles
from burnin.card.sources.linux_card import LinuxCard
from burnin.core.reading import NotMeasured
from burnin.sim.bench import simulated_bench
from tests.card.test_file_errors import Refusing
from tests.sim.machines import with_causes


def reason_of(number: int) -> object:
    files: BenchFiles = Refusing(number)
    value = Attributes(files, "/f").integer("temp1_input")
    assert isinstance(value, NotMeasured)
    return value.reason


def test_an_io_error_is_a_card_that_does_not_answer_and_no_file_that_is_missing() -> None:
    assert reason_of(errno.EIO) == FileReason.NO_ANSWER_FROM_CARD(name="temp1_input")
    assert reason_of(errno.ENOENT) == FileReason.NOT_OFFERED(name="temp1_input")
    assert reason_of(errno.EIO) != reason_of(errno.ENOENT)


class _ConfigRefuses:
    """The files of a bench, of which the configuration space gives an error."""

    def __init__(self, files: BenchFiles, number: int) -> None:
        self._files, self._number = files, number

    def read_bytes(self, path: str, limit: int = 1 << 20) -> bytes:
        if path.endswith("/config"):
            raise OSError(self._number, os.strerror(self._number))
        return self._files.read_bytes(path, limit)

    def list_folder(self, path: str) -> list[str]:
        return self._files.list_folder(path)

    def resolve(self, path: str) -> str:
        return self._files.resolve(path)


@pytest.mark.parametrize(
    ("number", "there"),
    [(errno.EIO, True), (errno.EACCES, True), (errno.ENODEV, False), (errno.ENOENT, False)],
)
def test_registers_that_cannot_be_read_are_no_card_that_is_gone(number: int, there: bool) -> None:
    files = _ConfigRefuses(simulated_bench(with_causes("healthy")).files, number)
    assert LinuxCard(files, "0000:01:00.0").present() is there


@pytest.mark.parametrize(
    ("sensor", "column"),
    [
        ("die", "gpu_temp_c"), ("hotspot", "hotspot_temp_c"), ("memory", "memory_temp_c"),
        ("power", "power_w"), ("fan", "fan_rpm"),
    ],
)  # fmt: skip
def test_a_sensor_that_cannot_be_read_is_told_as_such_on_a_whole_card(
    sensor: str, column: str
) -> None:
    cause = {"kind": "sensor", "sensor": sensor, "state": "unreadable"}
    bench = simulated_bench(with_causes("healthy", cause))
    value = getattr(LinuxCard(bench.files, "0000:01:00.0").telemetry(), column)
    assert isinstance(value, NotMeasured)
    assert any(part.means(FileReason.NO_ANSWER_FROM_CARD) for part in value.reason.parts())
    assert not any(part.means(FileReason.NOT_OFFERED) for part in value.reason.parts())
