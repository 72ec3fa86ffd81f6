"""What is asked of a build."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

EPOCH_S = 1_764_288_000
"""The day that everything in the image bears where the builder names none: 2025-11-28."""
SUITE = "bookworm"
"""Debian 12: the system that the stick is made of, and on which it is built."""


@dataclass(frozen=True)
class Wish:
    """`tree`: the code; `work`: where what is made on the way lies, kept between builds."""

    image: Path
    tree: Path
    work: Path
    epoch_s: int = EPOCH_S
    processors_count: int = 1
    squeeze: tuple[str, ...] = ("zstd", "-Xcompression-level", "15")
    journal_mib: int = 96
    records_mib: int = 96

    def surroundings(self) -> Mapping[str, str]:
        """What every program of the build is told: one day, one language."""
        kept = {name: os.environ[name] for name in ("PATH", "HOME", "TMPDIR") if name in os.environ}
        pip = {name: value for name, value in os.environ.items() if name.startswith("PIP_")}
        return {
            **kept,
            **pip,
            "LC_ALL": "C.UTF-8",
            "TZ": "UTC",
            "SOURCE_DATE_EPOCH": str(self.epoch_s),
            "E2FSPROGS_FAKE_TIME": str(self.epoch_s),
            "DEBIAN_FRONTEND": "noninteractive",
        }


def data(name: str) -> Traversable:
    """A file of those that are no Python."""
    return files("burnin.stick") / "root" / name


def packages() -> tuple[str, ...]:
    """Debian's packages in the root, in the order of the list."""
    lines = (line.strip() for line in data("debian.txt").read_text("utf-8").splitlines())
    return tuple(line for line in lines if line and not line.startswith("#"))


def list_sum(of: Wish) -> str:
    """Names a Debian root by what it is made from."""
    told = f"{SUITE} {of.epoch_s} {' '.join(packages())}"
    return hashlib.sha256(told.encode()).hexdigest()[:16]
