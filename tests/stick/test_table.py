from __future__ import annotations

import io
import shutil
import subprocess
from pathlib import Path

import pytest

from burnin.core.errors import BadInput
from burnin.stick.bios_start import first_sector, placed_core
from burnin.stick.gpt import SECTOR_BYTES, read_table, table
from burnin.stick.layout import KINDS, MIB, Part, disk_sectors, laid_out, own_id

HASH = "5a" * 32
SIZES = {
    Part.BIOS: 150_000,
    Part.FIRMWARE: 48 * MIB,
    Part.ROOT: 3 * MIB + 1,
    Part.JOURNAL: 8 * MIB,
    Part.RECORDS: 40 * MIB,
}


def disk(root_hash: str = HASH) -> bytes:
    partitions = laid_out(SIZES, root_hash)
    sectors = disk_sectors(partitions)
    first, last = table(partitions, own_id("disk", root_hash), sectors)
    return first + bytes(sectors * SECTOR_BYTES - len(first) - len(last)) + last


def test_a_table_is_read_back_as_it_was_written() -> None:
    found = read_table(io.BytesIO(disk()), "x.img")
    assert sorted(laid_out(SIZES, HASH), key=lambda p: p.number) == list(found)


def test_partitions_begin_at_whole_mib_and_do_not_overlap() -> None:
    found = laid_out(SIZES, HASH)
    ends = 0
    for one in found:
        assert one.at_bytes % MIB == 0
        assert one.at_bytes >= ends
        assert one.size_bytes >= SIZES[Part(one.name)]
        ends = one.at_bytes + one.size_bytes


def test_records_are_first_in_the_table_and_last_on_the_disk() -> None:
    found = laid_out(SIZES, HASH)
    assert found[-1].name == Part.RECORDS
    assert found[-1].number == 1


def test_another_root_gives_every_partition_another_identity() -> None:
    one, other = laid_out(SIZES, HASH), laid_out(SIZES, "5b" * 32)
    assert not {p.own_id for p in one} & {p.own_id for p in other}


@pytest.mark.parametrize("at", [SECTOR_BYTES + 40, 2 * SECTOR_BYTES + 33])
def test_a_table_with_a_changed_byte_is_refused(at: int) -> None:
    torn = bytearray(disk())
    torn[at] ^= 1
    with pytest.raises(BadInput):
        read_table(io.BytesIO(bytes(torn)), "x.img")


@pytest.mark.tool("sfdisk")
def test_a_partitioning_tool_finds_nothing_wrong(tmp_path: Path) -> None:
    tool = shutil.which("sfdisk")
    if tool is None:
        pytest.skip("no sfdisk here (Debian's package fdisk)")
    file = tmp_path / "disk.img"
    file.write_bytes(disk())
    told = subprocess.run(
        [tool, "--verify", str(file)], capture_output=True, text=True, check=False
    )
    assert told.returncode == 0, told.stderr
    assert "No errors detected" in told.stdout
    listed = subprocess.run(
        [tool, "--dump", str(file)], capture_output=True, text=True, check=True
    ).stdout.lower()
    for part in Part:
        assert str(KINDS[part]) in listed
        assert f'name="{part}"' in listed


def test_the_first_sector_keeps_the_table_and_tells_where_the_core_lies() -> None:
    boot = bytearray(b"\xeb" * SECTOR_BYTES)
    boot[510:] = b"\x55\xaa"
    made = first_sector(bytes(boot), disk()[:SECTOR_BYTES], 2048)
    assert made[440:] == disk()[440:SECTOR_BYTES]
    assert int.from_bytes(made[0x5C:0x64], "little") == 2048


def test_the_core_is_told_where_its_other_sectors_lie() -> None:
    placed = placed_core(bytes(1500), 2048)
    assert len(placed) == 3 * SECTOR_BYTES
    assert int.from_bytes(placed[500:508], "little") == 2049
    assert int.from_bytes(placed[508:510], "little") == 2


def test_what_is_no_boot_sector_is_refused() -> None:
    with pytest.raises(BadInput):
        first_sector(bytes(SECTOR_BYTES), disk()[:SECTOR_BYTES], 2048)
