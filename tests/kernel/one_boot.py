"""One start of the emulated bench for many checks: what was said there, by the check's name."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tests.kernel.emulator import Bench, last_words, run_to_its_end
from tests.kernel.guest.saying import SAID
from tests.kernel.kernels import Kernel

HERE = Path(__file__).resolve().parents[2]
Told = dict[str, Any]


@dataclass(frozen=True)
class Said:
    """All that was told in one start of the bench, in its order; `took_s` from power to power."""

    kernel: str
    took_s: float
    lines: tuple[Told, ...]
    out: Path
    last_words: str = field(repr=False, default="")

    def all(self, check: str) -> list[Told]:
        """Every line of a check; AssertionError where the bench told none."""
        found = [line for line in self.lines if line["check"] == check]
        assert found, f"the bench told nothing of {check}\n{self.last_words}"
        return found

    def one(self, check: str) -> Told:
        """The only line of a check."""
        (found,) = self.all(check)
        return found


def program(*steps: str) -> list[str]:
    """What is started inside for these steps."""
    return [sys.executable, "-m", "tests.kernel.guest", *steps]


def boot(
    kernel: Kernel,
    steps: Sequence[str],
    out: Path,
    *,
    longest_s: float = 900.0,
    command_line: str = "",
) -> Said:
    """Start the bench, carry out these steps, and read what was said."""
    out.mkdir(parents=True, exist_ok=True)
    drive = f"file={_empty_image(out / 'disk')},format=raw,if=virtio"
    bench = Bench(
        kernel, out, program(*steps), HERE, drives=("-drive", drive), command_line=command_line
    )
    took_s = run_to_its_end(bench, longest_s)
    return Said(kernel.version, took_s, read(out), out, last_words(bench))


def _empty_image(file: Path, mib: int = 64) -> Path:
    with file.open("wb") as image:
        image.truncate(mib << 20)
    return file


def read(out: Path) -> tuple[Told, ...]:
    """The lines that were said so far; a torn last one is left out."""
    found: list[Told] = []
    file = out / SAID
    for line in file.read_text().splitlines() if file.exists() else ():
        try:
            found.append(json.loads(line))
        except ValueError:
            continue
    return tuple(found)
