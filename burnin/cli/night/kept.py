"""What a night leaves on disk: which file it carries out, its hours, and its batches in order.

``nights/<night id>.json`` in the folder of the results. What became of each card stands in the
batches and records; nothing of that is kept twice.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from burnin.cli.terms import CliRefusal
from burnin.core.clock import moment_of
from burnin.core.errors import BadInput, RecordError
from burnin.core.files.bounded import NOT_WHOLE, TEXT_BYTES, read_at_most
from burnin.core.files.disk import replace_whole, sync_folder_and_above
from burnin.core.files.open_flags import CLOEXEC, DIRECTORY
from burnin.core.files.private_files import private_folder
from burnin.core.files.whole_lock import lock_alone
from burnin.core.plain import plain
from burnin.record.batches.batch import NIGHTS, Batch, batch_file, read_batch

_FORMAT = 1


@dataclass(frozen=True)
class Night:
    """One night; `ended_utc` is empty while it goes on, or where it was cut."""

    night_id: str
    file: str
    started_utc: str
    begins_utc: str
    until_utc: str = ""
    batches: tuple[str, ...] = ()
    ended_utc: str = ""
    simulated: bool = False

    def with_batch(self, batch_id: str) -> Night:
        """The same with one batch more."""
        return replace(self, batches=(*self.batches, batch_id))


def night_file(results: Path, night_id: str) -> Path:
    """Where a night is kept."""
    return results / NIGHTS / f"{night_id}.json"


def write_night(results: Path, night: Night) -> None:
    """Write a night; on disk when this returns. Raises OSError."""
    path = night_file(results, night.night_id)
    fresh = not path.parent.exists()
    private_folder(path.parent)
    content = plain(night)
    assert isinstance(content, dict)
    text = json.dumps({"format": _FORMAT, **content}, indent=1, ensure_ascii=False)
    replace_whole(path, text.encode() + b"\n")
    if fresh:
        sync_folder_and_above(path.parent)


def read_night(path: Path) -> Night:
    """A night read back; raises RecordError where it is missing or none."""
    try:
        content = json.loads(read_at_most(path, TEXT_BYTES))
        if content.pop("format") != _FORMAT:
            raise ValueError("of another format")
        batches = tuple(str(batch) for batch in content.pop("batches"))
        simulated = content.pop("simulated") is True
        told = {name: str(value) for name, value in content.items()}
        night = Night(**told, batches=batches, simulated=simulated)
        if moment_of(night.begins_utc) is None:
            raise ValueError("no moment at which it begins")
    except OSError as error:
        raise RecordError(f"{path}: cannot be read: {error.strerror or error}") from error
    except NOT_WHOLE as error:
        raise RecordError(
            f"{path}: is no night's file, or damaged ({error}); move it away, and go on with its"
            " batches one by one (burnin run --resume results/batches/ID.json)"
        ) from error
    return night


@contextmanager
def hold_nights(results: Path) -> Iterator[None]:
    """Hold the nights of these results while inside: two at once would burn a card in twice.

    Raises BadInput where another goes on. The system lets go of it when this process ends; a disk
    that knows no locks holds nothing, and each card's own lock still does.
    """
    folder = results / NIGHTS
    private_folder(folder)
    handle = os.open(folder, os.O_RDONLY | DIRECTORY | CLOEXEC)
    try:
        lock_alone(handle)
    except BlockingIOError:
        os.close(handle)
        raise BadInput(CliRefusal.NIGHT_HELD(results=str(results))) from None
    except OSError:
        pass
    try:
        yield
    finally:
        os.close(handle)


def unfinished(results: Path, file: Path) -> Night | None:
    """The newest night of this file that has not come to its end; None: there is none."""
    folder = results / NIGHTS
    for path in sorted(folder.glob("*.json"), reverse=True) if folder.is_dir() else ():
        night = read_night(path)
        if night.file == str(file.absolute()):
            return None if night.ended_utc else night
    return None


def batches_of(results: Path, night: Night) -> Iterator[Batch]:
    """The batches of a night that were begun, in order."""
    for batch_id in night.batches:
        path = batch_file(results, batch_id)
        if path.exists():  # a cut before its first line: nothing of it was begun
            yield read_batch(path)
