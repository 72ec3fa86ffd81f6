"""Time stamps beside a sheet: ``customer.pdf.tsr`` is one of ``customer.pdf``."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from burnin.core.meaning import Note, Reason
from burnin.ticket.stamp.der import NotDer
from burnin.ticket.stamp.meanings import StampNote, StampReason
from burnin.ticket.stamp.signer import why_not_by
from burnin.ticket.stamp.token import NotGranted, read_stamp

ENDING = ".tsr"
_MOST_BYTES = 1 << 20


def is_stamp(folder: Path, name: str) -> bool:
    """Whether something in a folder is a stamp of a file there; it may be put there later."""
    path = folder / name
    if not name.endswith(ENDING) or "/" in name or path.is_symlink() or not path.is_file():
        return False
    return (folder / name.removesuffix(ENDING)).is_file()


def stamps_in(
    folder: Path, stamper: Path | None
) -> tuple[tuple[Reason, ...], tuple[Note, ...]]:
    """What is wrong with the stamps of a folder, and what the good ones say.

    `stamper`: certificate (PEM) of the service, or of whoever certified it; left out, a stamp's
    signature is not checked, and the note says so. Raises BadInput where it holds none.
    """
    found = list(_stamps(folder, stamper))
    faults = tuple(f for f in found if isinstance(f, Reason))
    return faults, tuple(f for f in found if isinstance(f, Note))


def _stamps(folder: Path, stamper: Path | None) -> Iterator[Reason | Note]:
    for path in sorted(folder.glob(f"*{ENDING}")):
        if is_stamp(folder, path.name):
            yield _told(folder, path.name.removesuffix(ENDING), path, stamper)


def _told(folder: Path, file: str, path: Path, stamper: Path | None) -> Reason | Note:
    try:
        if path.stat().st_size > _MOST_BYTES:
            return StampReason.NOT_READ(file=file, error="MemoryError")
        stamp = read_stamp(path.read_bytes())
        is_of = stamp.is_of((folder / file).read_bytes())
    except NotGranted:
        return StampReason.NOT_GRANTED(file=file)
    except (NotDer, OSError) as error:
        return StampReason.NOT_READ(file=file, error=type(error).__name__)
    if not is_of:
        return StampReason.OTHER_BYTES(file=file)
    if stamper is None:
        return StampNote.NOT_CHECKED(file=file, time_utc=stamp.time_utc)
    why = why_not_by(stamp, file, stamper)
    return StampNote.CHECKED(file=file, time_utc=stamp.time_utc) if why is None else why
