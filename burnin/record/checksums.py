"""Checksums over a record, in the format of sha256sum."""

from __future__ import annotations

import hashlib
from pathlib import Path

DATA_FILES = ("run.json", "readings.csv", "samples.csv", "journal.csv", "failing_words.csv")
"""What was measured; plots and sheets are made from it and may be made anew."""


def write_checksums(folder: Path, *, keep_data: bool = False) -> Path:
    """``checksums.sha256`` over all files of the record, in the format of sha256sum.

    `keep_data` keeps the lines of the measured data as they were written when the run ended, so
    that making a sheet anew does not vouch for data that was changed since.
    """
    kept: dict[str, str] = {}
    target = folder / "checksums.sha256"
    if keep_data and target.exists():
        for line in target.read_text(encoding="utf-8").splitlines():
            digest, _, name = line.partition("  ")
            if name in DATA_FILES:
                kept[name] = digest
    lines = []
    for path in sorted(p for p in folder.rglob("*") if p.is_file()):
        name = path.relative_to(folder).as_posix()
        if name not in ("checksums.sha256", "signature.json") and not name.endswith(".new"):
            digest = kept.get(name) or hashlib.sha256(path.read_bytes()).hexdigest()
            lines.append(f"{digest}  {name}\n")
    target.write_text("".join(lines), encoding="utf-8")
    return target


def changed_data(folder: Path) -> list[str]:
    """Measured files that no longer match the checksums; empty where there are no checksums."""
    listed = folder / "checksums.sha256"
    if not listed.exists():
        return []
    changed = []
    for line in listed.read_text(encoding="utf-8").splitlines():
        digest, _, name = line.partition("  ")
        path = folder / name
        if name not in DATA_FILES:
            continue
        if not path.exists() or hashlib.sha256(path.read_bytes()).hexdigest() != digest:
            changed.append(name)
    return changed
