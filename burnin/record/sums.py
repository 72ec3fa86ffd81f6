"""Checksums over a record, in the format of sha256sum, and what changed since they were written."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from pathlib import Path

from burnin.core.files.bounded import TEXT_BYTES, read_at_most, sha256_of
from burnin.core.files.disk import clear_passing, replace_whole
from burnin.core.meaning import Reason
from burnin.record.reasons import RecordReason
from burnin.record.schema.folders import RUN_FILE as RUN_FILE
from burnin.record.schema.most_bytes import most_bytes_of
from burnin.record.schema.tables import TABLES

SUMS_FILE = "checksums.sha256"
DATA_FILES = (RUN_FILE, *TABLES)
"""What was measured; plots and sheets are made from it and may be made anew."""
SIGNATURE = "signature.json"
"""Who vouches for the checksums; it covers them and is not among them."""
_NOT_LISTED = (SUMS_FILE, SIGNATURE)


def sha256(raw: bytes) -> str:
    """SHA-256 in hexadecimal."""
    return hashlib.sha256(raw).hexdigest()


def listed_sums(folder: Path) -> dict[str, str] | None:
    """Checksums by file name as they were written; None where none were."""
    try:
        text = read_at_most(folder / SUMS_FILE, TEXT_BYTES).decode("utf-8", "replace")
    except OSError:
        return None
    pairs = (line.split(maxsplit=1) for line in text.splitlines())
    return {p[1].lstrip("*").strip(): p[0].lower() for p in pairs if len(p) == 2}


def write_checksums(folder: Path, *, keep_data: bool = False) -> Path:
    """Write ``checksums.sha256`` over all files of the record; raises OSError.

    What a cut left of files that were never finished is taken away first.
    `keep_data` keeps what was written of the measured data when the run ended, so that making a
    sheet anew does not vouch for data that was changed or added since.
    """
    clear_passing(folder)
    before = listed_sums(folder) if keep_data else None
    lines = []
    for path in sorted(p for p in folder.rglob("*") if p.is_file()):
        name = path.relative_to(folder).as_posix()
        if name in _NOT_LISTED or name.endswith(".new"):
            continue
        if before is not None and name in DATA_FILES:
            if name in before:
                lines.append(f"{before[name]}  {name}\n")
            continue
        lines.append(f"{sha256_of(path)}  {name}\n")
    target = folder / SUMS_FILE
    replace_whole(target, "".join(lines).encode("utf-8"))
    return target


def differences(
    listed: Mapping[str, str], read: Callable[[str], bytes | None]
) -> tuple[Reason, ...]:
    """What of the measured data is not as the checksums say; `read` gives None for no file."""
    found = []
    for name in DATA_FILES:
        raw, digest = read(name), listed.get(name)
        if raw is None:
            if digest is not None:
                found.append(RecordReason.GONE_SINCE_SUMS(file=name))
        elif digest is None:
            found.append(RecordReason.ADDED_SINCE_SUMS(file=name))
        elif sha256(raw) != digest:
            found.append(RecordReason.CHANGED_SINCE_SUMS(file=name))
    return tuple(found)


def changed_data(folder: Path) -> list[str]:
    """Measured files that no longer match the checksums; empty where there are no checksums."""
    listed = listed_sums(folder)
    if listed is None:
        return []
    return [str(reason["file"]) for reason in differences(listed, lambda n: _bytes(folder / n))]


def data_sha256(folder: Path) -> str:
    """One SHA-256 over all measured files of a record, each with its name and length."""
    return data_sha256_of(lambda name: _bytes(folder / name))


def data_sha256_of(read: Callable[[str], bytes | None]) -> str:
    """As `data_sha256`, of bytes that somebody has read already; `read` gives None for no file."""
    whole = hashlib.sha256()
    for name in DATA_FILES:
        raw = read(name)
        if raw is not None:
            whole.update(f"{name} {len(raw)}\n".encode())
            whole.update(raw)
    return whole.hexdigest()


def _bytes(path: Path) -> bytes | None:
    try:
        return read_at_most(path, most_bytes_of(path.name))
    except OSError:
        return None
