"""When the writer returns, all that it wrote is on disk: no row, of any table, waits for the next.

The calls of the operating system are watched: what was written to a file and not synced since.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from burnin.record.writer import RecordWriter
from tests.record import streams


class Watched:
    """Which files below a folder were written to since they were last synced, by handle."""

    def __init__(self, root: Path, patch: pytest.MonkeyPatch) -> None:
        self._root, self._open = root, set[int]()
        self.synced_rows = 0
        write, fdatasync, fsync, close = os.write, os.fdatasync, os.fsync, os.close

        def wrote(handle: int, text: bytes) -> int:
            if _path(handle).is_relative_to(self._root):
                self._open.add(handle)
            return write(handle, text)

        def data_synced(handle: int) -> None:
            fdatasync(handle)
            self.synced_rows += handle in self._open
            self._open.discard(handle)

        def all_synced(handle: int) -> None:
            fsync(handle)
            self._open.discard(handle)

        def closed(handle: int) -> None:
            assert handle not in self._open, "closed with bytes that nobody synced"
            close(handle)

        patch.setattr(os, "write", wrote)
        patch.setattr(os, "fdatasync", data_synced)
        patch.setattr(os, "fsync", all_synced)
        patch.setattr(os, "close", closed)

    @property
    def waiting(self) -> list[str]:
        """Names of the files with bytes that no sync has covered."""
        return sorted(_path(handle).name for handle in self._open)


def _path(handle: int) -> Path:
    return Path(f"/proc/self/fd/{handle}").readlink()


@pytest.fixture
def watched(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Watched]:
    with monkeypatch.context() as patch:
        yield Watched(tmp_path, patch)


def rows_in(folder: Path) -> int:
    return sum(path.read_bytes().count(b"\n") for path in folder.glob("*.csv"))


def test_after_every_event_every_row_is_synced(watched: Watched, tmp_path: Path) -> None:
    folder, clock = tmp_path / "r", streams.HandClock()
    writer = RecordWriter(folder, clock, 0.0)
    for event in streams.stream():
        clock.sleep_s(clock.moves_s)
        writer(event)
        assert watched.waiting == [], type(event).__name__
    writer.close()
    # each row by a sync of its own: of two rows in one sync the first waited for the second
    assert watched.synced_rows == rows_in(folder) > 40


def test_a_resumed_record_syncs_every_row_too(watched: Watched, tmp_path: Path) -> None:
    folder, clock = tmp_path / "r", streams.HandClock()
    events = streams.stream()
    first = RecordWriter(folder, clock, 0.0)
    for event in events[:8]:
        first(event)
    first.close()
    again = RecordWriter(folder, clock, 0.0)
    for event in events:
        clock.sleep_s(clock.moves_s)
        again(event)
        assert watched.waiting == [], type(event).__name__
    again.close()
