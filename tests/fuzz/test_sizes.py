"""A hundred megabytes in: refused in little time and memory, whatever they are made of."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.fuzz.test_commands import HUGE_BYTES
from tests.long import few_short

DATA = Path(__file__).parents[1] / "data"
MOST_S, MOST_BYTES = 2.0, 300 << 20
"""What a command may take of the processor, its start counted in, and of memory."""
_ON_A_BUSY_MACHINE = 2.0
"""Two threads of one core, each at work, take up to twice the processor time."""


def _of(part: bytes, head: bytes = b"") -> Callable[[Path], None]:
    def make(path: Path) -> None:
        with path.open("wb") as file:
            file.write(head)
            block = part * max(1, (1 << 20) // len(part))
            for _ in range(HUGE_BYTES // len(block) + 1):
                file.write(block)

    return make


_HEADER = b"elapsed_s,time_utc,stage,load_share,present\n"
_TIMES = b"time_s,power_w,gpu_temp_c\n"

CASES: dict[str, tuple[str, Callable[[Path], None], tuple[str, ...]]] = {
    "profile": ("p.toml", _of(b"# a comment\n"), ("profiles", "check", "p.toml")),
    "scenario": ("s.toml", _of(b"a = 1\n"), ("run", "-p", "short_x8", "--simulated", "./s.toml")),
    "run_json": ("record/run.json", _of(b" "), ("explain", "record")),
    "recording_zeros": ("r.csv", _of(b"\0"), ("replay", "r.csv")),
    "recording_breaks": ("r.csv", _of(b"\n"), ("replay", "r.csv")),
    "recording_bad_rows": ("r.csv", _of(b"x,y\n", _TIMES), ("replay", "r.csv")),
    "recording_blank_rows": ("r.csv", _of(b"\n", _TIMES), ("replay", "r.csv")),
    "samples_breaks": ("record/samples.csv", _of(b"\n", _HEADER), ("explain", "record")),
    "samples_returns": ("record/samples.csv", _of(b"\r\n", _HEADER), ("explain", "record")),
    "samples_bad_rows": ("record/samples.csv", _of(b"x\n", _HEADER), ("explain", "record")),
    "samples_zeros": ("record/samples.csv", _of(b"\0", _HEADER), ("explain", "record")),
    "samples_one_line": ("record/samples.csv", _of(b"x,"), ("explain", "record")),
    "journal": ("record/journal.csv", _of(b"x\n"), ("explain", "record")),
    "readings": ("record/readings.csv", _of(b"x\n"), ("sheet", "record")),
    "checksums": ("record/checksums.sha256", _of(b"0" * 64 + b"  x\n"), ("verify", "record")),
    "shop_file": ("shop/shop.toml", _of(b"# x\n"), ("shop",)),
    "ticket_log": ("results/1/ticket/events.jsonl", _of(b"{}\n"), ("ticket", "show", "1")),
    "key": ("k.pem", _of(b"-----BEGIN PUBLIC KEY-----\n"), ("verify", "record", "--key", "k.pem")),
}
SHORT = ("profile", "samples_bad_rows", "recording_blank_rows")


@dataclass(frozen=True)
class Ended:
    """How a command ended: exit code, what it said, processor seconds, most memory."""

    code: int
    said: str
    processor_s: float
    memory_bytes: int


@pytest.mark.parametrize("name", few_short(CASES, SHORT))
def test_a_hundred_megabytes_are_refused_in_little_time_and_memory(
    name: str, tmp_path: Path
) -> None:
    file, make, words = CASES[name]
    shutil.copytree(DATA / "format_1_records" / "hand_made_passed", tmp_path / "record")
    path = tmp_path / file
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    make(path)
    before = set(_files(tmp_path))
    ended = carried_out(words, tmp_path)
    print(f"{name}: {ended.processor_s:.2f} s, {ended.memory_bytes >> 20} MiB, {ended.said[:200]}")
    assert "Traceback" not in ended.said
    assert ended.code in ((0, 1, 2) if name.startswith(("samples", "checksums")) else (2,))
    assert ended.said.strip()
    assert ended.memory_bytes < MOST_BYTES
    assert ended.processor_s < MOST_S * _ON_A_BUSY_MACHINE
    assert set(_files(tmp_path)) == before


_MEASURED = """
import resource, subprocess, sys
with open("said", "wb") as out:
    code = subprocess.call(sys.argv[1:], stdin=subprocess.DEVNULL, stdout=out, stderr=out)
used = resource.getrusage(resource.RUSAGE_CHILDREN)
print(code, used.ru_utime + used.ru_stime, used.ru_maxrss * 1024)
"""


def carried_out(words: tuple[str, ...], room: Path) -> Ended:
    """A command carried out in a process of its own.

    A small process starts it: the most memory of a process counts that of the one it came from.
    """
    told = subprocess.run(
        [sys.executable, "-S", "-c", _MEASURED, sys.executable, "-m", "burnin", *words],
        cwd=room,
        env={**os.environ, "BURNIN_SHOP": str(room / "shop")},
        check=True,
        capture_output=True,
        text=True,
    ).stdout.split()
    said = (room / "said").read_text(errors="replace")
    (room / "said").unlink()
    return Ended(int(told[0]), said, float(told[1]), int(told[2]))


def _files(room: Path) -> Iterator[str]:
    return (p.relative_to(room).as_posix() for p in room.rglob("*") if p.suffix != ".lock")
