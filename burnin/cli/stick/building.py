"""What `burnin stick build` and `verify` print."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from burnin.report.languages.catalogue import catalogue
from burnin.stick.build import build
from burnin.stick.layout import MIB
from burnin.stick.reading_back import read_back
from burnin.stick.refusals import StickNote
from burnin.stick.wish import Wish

_QUICK = ("zstd", "-Xcompression-level", "6")


def build_told(
    image: Path,
    tree: Path,
    work: Path,
    processors: int,
    records_mib: int,
    quick: bool,
    echo: Callable[[str], None],
    language: str,
) -> None:
    """Build, each step told before it begins."""
    words = catalogue(language)
    wish = Wish(
        image.absolute(), tree, work, processors_count=processors, records_mib=records_mib
    )
    built = build(replace(wish, squeeze=_QUICK) if quick else wish, lambda n: echo(words.say(n)))
    for part, size_mib in built.parts_mib.items():
        echo(words.say(StickNote.PART_SIZE(part=part, size_mib=size_mib)))
    size = built.image.stat().st_size / MIB
    told = StickNote.BUILT(
        file=str(built.image), size_mib=size, sha256=built.sha256, root_hash=built.root_hash
    )
    echo(words.say(told))


def verify_told(
    device: Path, image: Path | None, echo: Callable[[str], None], language: str
) -> int:
    """Read back; exit code 1 where anything differs."""
    words = catalogue(language)
    faults = 0
    for told in read_back(device, image):
        echo(words.say(told.what))
        faults += told.is_fault
    return 1 if faults else 0
