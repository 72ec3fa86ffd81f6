"""A bench copied into a folder: links and errors as they are, serial numbers as they are not."""

from __future__ import annotations

import errno
import json
import os
from ctypes import Structure, c_ulonglong
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from burnin.card.edid.base_block import parse_edid
from burnin.card.files import HostFiles
from burnin.card.merge import open_bench
from burnin.card.pci.config_space import ConfigurationSpace
from burnin.card.pci.registers import EXT_CAP_ID_SERIAL
from burnin.card.recording.copying import record_bench
from burnin.card.recording.nvml_answers import RecordedLibrary, RecordingLibrary
from burnin.card.recording.recorded_files import INDEX, RecordedFiles
from burnin.card.recording.stripping import stripped
from burnin.card.sources.nvml_values import VALUE_BY_TYPE
from burnin.core.errors import BadInput
from tests.refusals import refused

DATA = Path(__file__).parents[1] / "data"
CARD, PORT = "0000:01:00.0", "0000:00:01.0"


def _put(root: Path, path: str, content: str | bytes) -> Path:
    file = root / path.lstrip("/")
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_bytes(content if isinstance(content, bytes) else content.encode())
    return file


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    """A bench with a card behind a port, an output, a sensor, and a file that nobody may read."""
    root = tmp_path / "bench"
    port, device = f"/sys/devices/pci0000:00/{PORT}", f"/sys/devices/pci0000:00/{PORT}/{CARD}"
    for folder, kind in ((port, "0x060400"), (device, "0x030000")):
        _put(root, f"{folder}/vendor", "0x1002\n")
        _put(root, f"{folder}/device", "0x744c\n")
        _put(root, f"{folder}/class", f"{kind}\n")
        _put(root, f"{folder}/current_link_width", "16\n")
    listed = "1002  Corvane\n\t744c  Strata\n\t\t1002 0e3b  Board\n\t7000  Other\n8086  Else\n"
    _put(root, "/usr/share/hwdata/pci.ids", listed)
    _put(root, f"{device}/config", (DATA / "config_space.bin").read_bytes())
    _put(root, f"{device}/unique_id", "5f3a9c\n")
    _put(root, f"{device}/rom", "never read")
    _put(root, f"{device}/hwmon/hwmon3/temp1_input", "45000\n")
    _put(root, f"{device}/drm/card0/card0-DP-1/status", "connected\n")
    for name, target in (
        (f"/sys/bus/pci/devices/{CARD}", device),
        (f"/sys/bus/pci/devices/{PORT}", port),
        ("/sys/class/drm/card0", f"{device}/drm/card0"),
        ("/sys/class/drm/card0-DP-1", f"{device}/drm/card0/card0-DP-1"),
        (f"{device}/drm/card0/device", device),
    ):
        link = root / name.lstrip("/")
        link.parent.mkdir(parents=True, exist_ok=True)
        link.symlink_to(os.path.relpath(root / target.lstrip("/"), link.parent))
    return root


def _copied(bench: Path, folder: Path) -> RecordedFiles:
    cards = open_bench(HostFiles(bench), this_machine=False).cards()
    assert record_bench(folder, cards, bench=bench, this_machine=False)
    return RecordedFiles(folder)


def test_the_copy_is_read_as_the_bench_is(bench: Path, tmp_path: Path) -> None:
    there, copy = HostFiles(bench), _copied(bench, tmp_path / "copy")
    folder = f"/sys/bus/pci/devices/{CARD}"
    assert copy.resolve(folder) == there.resolve(folder)
    assert copy.resolve("/sys/class/drm/card0-DP-1") == there.resolve("/sys/class/drm/card0-DP-1")
    for name in ("vendor", "current_link_width", "hwmon/hwmon3/temp1_input"):
        assert copy.read_bytes(f"{folder}/{name}") == there.read_bytes(f"{folder}/{name}")
    (card,) = open_bench(copy, this_machine=False).cards()
    assert card.identity().vendor_id == 0x1002
    assert card.identity().name == "Strata"
    assert card.telemetry().gpu_temp_c == 45.0
    position = card.position()
    assert getattr(position, "port", None) is not None


def test_what_names_a_card_is_replaced_and_what_is_no_reading_is_left_out(
    bench: Path, tmp_path: Path
) -> None:
    copy, folder = _copied(bench, tmp_path / "copy"), f"/sys/bus/pci/devices/{CARD}"
    assert copy.read_bytes(f"{folder}/unique_id") == b"000000\n"
    with pytest.raises(FileNotFoundError):
        copy.read_bytes(f"{folder}/rom")
    names = copy.read_bytes("/usr/share/hwdata/pci.ids").decode().splitlines()
    assert names == ["1002  Corvane", "\t744c  Strata", "\t\t1002 0e3b  Board"]


def test_an_error_comes_back_as_the_same_error(
    bench: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = HostFiles.read_bytes

    def read(self: HostFiles, path: str, limit: int = 1 << 20) -> bytes:
        if path.endswith("temp1_input"):
            raise OSError(errno.EIO, "no answer", path)
        return real(self, path, limit)

    with monkeypatch.context() as broken:
        broken.setattr(HostFiles, "read_bytes", read)
        copy = _copied(bench, tmp_path / "copy")
    (refused,) = json.loads((tmp_path / "copy" / INDEX).read_text())["refused"].items()
    assert refused[1] == errno.EIO
    with pytest.raises(OSError, match="temp1_input"):
        copy.read_bytes(refused[0])


def test_a_folder_that_holds_something_is_refused(bench: Path, tmp_path: Path) -> None:
    _put(tmp_path / "copy", "/other", "")
    with refused(BadInput, match="not empty"):
        record_bench(tmp_path / "copy", (), bench=bench, this_machine=False)
    with refused(BadInput, match="no recording"):
        RecordedFiles(tmp_path / "copy")


def test_a_configuration_space_loses_its_serial_number_alone() -> None:
    kept = (DATA / "config_space.bin").read_bytes()
    at = ConfigurationSpace(kept).find(EXT_CAP_ID_SERIAL, extended=True)
    assert isinstance(at, int)
    data = kept[: at + 4] + bytes(range(0x71, 0x79)) + kept[at + 12 :]
    told = stripped("/x/config", data)
    before, after = ConfigurationSpace(data), ConfigurationSpace(told)
    assert len(told) == len(data)
    assert after.vendor_id == before.vendor_id
    changed = [n for n, (a, b) in enumerate(zip(data, told, strict=True)) if a != b]
    assert changed == list(range(at + 4, at + 12))
    assert after.serial_number() != before.serial_number() == "78-77-76-75-74-73-72-71"


def _edid(serial: bytes) -> bytes:
    base = bytearray(128)
    base[:8] = bytes.fromhex("00ffffffffffff00")
    base[12:16], base[18:20] = (4711).to_bytes(4, "little"), b"\1\4"
    base[54:72] = b"\0\0\0\xff\0" + serial.ljust(13, b" ")
    base[127] = -sum(base) % 256
    return bytes(base)


@pytest.mark.parametrize("flipped", [0, 0x10])
def test_an_edid_loses_its_serials_and_stays_as_sound_as_it_was(flipped: int) -> None:
    whole = _edid(b"AB12345\n")
    data = whole[:20] + bytes((whole[20] ^ flipped,)) + whole[21:]
    told = stripped("/x/edid", data)
    before, after = parse_edid(data), parse_edid(told)
    assert b"AB12345" not in told
    assert after.serial_number != before.serial_number
    assert after.blocks[0].sound == before.blocks[0].sound == (flipped == 0)
    assert [p.what.code for p in after.problems] == [p.what.code for p in before.problems]


class _Memory(Structure):
    _fields_ = (("total", c_ulonglong), ("free", c_ulonglong))


class _Refused(Exception):
    value = 3


class _Library:
    """Answers of the kinds that the driver's library gives."""

    NVMLError = _Refused

    def nvmlDeviceGetTemperature(self, _: object, sensor: int) -> int:  # noqa: N802
        return 40 + sensor

    def nvmlDeviceGetSerial(self, _: object) -> str:  # noqa: N802
        return "1650422003"

    def nvmlDeviceGetMemoryInfo(self, _: object) -> _Memory:  # noqa: N802
        return _Memory(80, 60)

    def nvmlDeviceGetFanSpeed(self, _: object) -> int:  # noqa: N802
        raise _Refused

    def nvmlDeviceGetFieldValues(self, _: object, fields: tuple[int, ...]) -> list[Any]:  # noqa: N802
        kind, member = next(iter(VALUE_BY_TYPE.items()))
        return [
            SimpleNamespace(nvmlReturn=3 * (n % 2), valueType=kind,
                            value=SimpleNamespace(**{member: n}))
            for n in fields
        ]  # fmt: skip


def test_the_drivers_library_is_answered_for() -> None:
    asked = RecordingLibrary(_Library())
    asked.nvmlDeviceGetTemperature(object(), 0)
    asked.nvmlDeviceGetTemperature(object(), 2)
    asked.nvmlDeviceGetSerial(object())
    asked.nvmlDeviceGetMemoryInfo(object())
    asked.nvmlDeviceGetFieldValues(object(), (82, 83))
    with pytest.raises(_Refused):
        asked.nvmlDeviceGetFanSpeed(object())
    again = RecordedLibrary(json.loads(json.dumps(asked.answers)))
    assert again.nvmlDeviceGetTemperature(None, 2) == 42
    assert again.nvmlDeviceGetSerial(None) == "0000000000"
    assert again.nvmlDeviceGetMemoryInfo(None).free == 60
    for name in ("nvmlDeviceGetFanSpeed", "nvmlDeviceGetName"):
        with pytest.raises(RecordedLibrary.NVMLError):
            getattr(again, name)(None)
    even, odd = again.nvmlDeviceGetFieldValues(None, (82, 83))
    assert getattr(even.value, VALUE_BY_TYPE[even.valueType]) == 82
    assert (even.nvmlReturn, odd.nvmlReturn) == (0, 3)


def test_of_the_kernels_command_line_what_matters_to_a_card_is_kept() -> None:
    line = b"root=UUID=1f2e3d4c-0001 ro host=ilse pci=noaer,nommconf video=DP-1:e x.pci=1"
    assert stripped("/proc/cmdline", line) == b"pci=noaer,nommconf video=DP-1:e\n"
