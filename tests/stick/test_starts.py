"""The whole stick: built, started by three kinds of firmware, changed by a byte, cut off.

By hand, on Debian 12, as root, an hour: ``pytest -m stick -n 0``. With ``BURNIN_STICK_IMAGE`` an
image that is there already is started instead of a new one.
"""

from __future__ import annotations

import json
import os
import shutil
from pathlib import Path

import pytest

from burnin.record.reader import read_record
from burnin.stick.build import build
from burnin.stick.layout import Part
from burnin.stick.reading_back import read_back
from burnin.stick.wish import Wish
from tests.stick.emulator import KINDS, part_of, put_on_records, start, taken_from_records

pytestmark = [pytest.mark.long, pytest.mark.stick, pytest.mark.timeout(4 * 3600)]
TREE = Path(__file__).parents[2]
TOOLS = ("qemu-system-x86_64", "mmdebstrap", "mksquashfs", "veritysetup", "mcopy")
RUNS = """\
runs = [["--profile", "desktop_air", "--simulated", "healthy"]]
"""


@pytest.fixture(scope="module")
def image(tmp_path_factory: pytest.TempPathFactory) -> Path:
    given = os.environ.get("BURNIN_STICK_IMAGE")
    if given:
        return Path(given)
    missing = [tool for tool in TOOLS if shutil.which(tool) is None]
    if missing or os.geteuid() != 0:
        pytest.skip(f"needs root and {', '.join(missing)}")
    folder = tmp_path_factory.mktemp("stick")
    return build(Wish(folder / "bench.img", TREE, folder / "work"), lambda _: None).image


def copy_of(image: Path, folder: Path) -> Path:
    copied = folder / "copy.img"
    shutil.copy(image, copied)
    return copied


@pytest.mark.parametrize("kind", KINDS)
def test_it_starts_to_the_simulated_cards_pass_without_a_hand(
    image: Path, tmp_path: Path, kind: str
) -> None:
    stick = copy_of(image, tmp_path)
    asked = tmp_path / "unattended.toml"
    asked.write_text(RUNS, encoding="utf-8")
    put_on_records(stick, asked)
    said = start(stick, tmp_path, kind).wait_for_end()
    assert "== over" in said
    records = taken_from_records(stick, "records", tmp_path / "elsewhere")
    told = json.loads((records / "unattended.json").read_text("utf-8"))
    assert [run["code"] for run in told["runs"]] == [0]
    [run] = records.rglob("run.json")
    assert read_record(run.parent).run.verdict is not None
    assert not any(line.is_fault for line in read_back(stick, image))


def test_one_changed_byte_of_the_root_is_refused_and_said(image: Path, tmp_path: Path) -> None:
    stick = copy_of(image, tmp_path)
    with stick.open("r+b") as disk:
        disk.seek(part_of(stick, Part.ROOT) + 100 * (1 << 20))
        before = disk.read(1)
        disk.seek(-1, os.SEEK_CUR)
        disk.write(bytes([before[0] ^ 1]))
    assert any(line.is_fault for line in read_back(stick))
    computer = start(stick, tmp_path, "bios")
    try:
        computer.wait_for("THE STICK IS NOT AS IT WAS MADE")
        assert "== over" not in computer.said()
    finally:
        computer.cut()
