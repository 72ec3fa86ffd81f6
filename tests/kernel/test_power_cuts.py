"""Cuts of the power on a journalling file system: nothing that was used is lost, and it goes on."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from tests.kernel.conftest import kernel_or_skip
from tests.kernel.packages import STABLE
from tests.kernel.power_cuts import crashed, cuts, sound, summary
from tests.kernel.written_log import cut_image, entries_count

COUNT = 3


@pytest.mark.kernel
@pytest.mark.timeout(900)
def test_a_cut_loses_no_row_that_was_used_and_the_run_ends_as_it_would_have(
    tmp_path: Path,
) -> None:
    found = cuts(kernel_or_skip(STABLE), "ext4", COUNT, 1, tmp_path)
    print(summary("ext4", found))
    assert len(found) == COUNT
    assert all(map(sound, found)), [told for told in found if not sound(told)]
    assert sum(told["used"] for told in found) > COUNT


@pytest.mark.kernel
@pytest.mark.timeout(600)
@pytest.mark.parametrize("by_kernel", [True, False], ids=["the kernel crashes", "power cut"])
def test_a_bench_that_goes_down_in_a_run_loses_no_row_that_was_used(
    by_kernel: bool, tmp_path: Path
) -> None:
    told = crashed(kernel_or_skip(STABLE), "ext4", 25, by_kernel, tmp_path)
    assert sound(told), told
    assert told["used"] >= 25
    assert not told["ended_before"]
    assert len(told["boots"]) == 2, "a start of its own has a boot id of its own"


def _log(file: Path, *written: tuple[int, bytes, int]) -> Path:
    """A log by hand: sector, data, flags of each entry."""
    data = b"".join(
        (
            sector.to_bytes(8, "little")
            + (len(data) // 512).to_bytes(8, "little")
            + flags.to_bytes(8, "little")
        ).ljust(512, b"\0")
        + data
        for sector, data, flags in written
    )
    head = (0x6A736677736872, 1, len(written))
    start = b"".join(number.to_bytes(8, "little") for number in head)
    file.write_bytes((start + (512).to_bytes(4, "little")).ljust(512, b"\0") + data)
    return file


def test_what_was_flushed_is_there_and_what_was_not_may_be(tmp_path: Path) -> None:
    first, second, third = b"1" * 512, b"2" * 512, b"3" * 512
    log = _log(tmp_path / "log", (0, first, 0), (0, b"", 1), (1, second, 0), (2, third, 0))
    assert entries_count(log) == 4
    seen = set()
    for seed in range(40):
        cut = cut_image(log, tmp_path / "drive", 2048, 4, random.Random(seed))
        drive = (tmp_path / "drive").read_bytes()
        assert drive[:512] == first
        assert cut.open_writes == 2
        seen.add((drive[512:1024] == second, drive[1024:1536] == third))
    assert len(seen) == 4, "some order of arrival never came"


def test_a_cut_before_the_flush_may_lose_it_all(tmp_path: Path) -> None:
    log = _log(tmp_path / "log", (0, b"1" * 512, 0), (0, b"", 1))
    kept = {
        cut_image(log, tmp_path / "drive", 512, 1, random.Random(seed)).kept for seed in range(20)
    }
    assert kept == {0, 1}
