"""Files of a recorded bench: what it answered, and the errors with which it did not."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

from burnin.card.files import HostFiles
from burnin.card.recording.nvml_answers import RecordedLibrary
from burnin.card.recording.refusals import RecordingRefusal
from burnin.core.errors import BadInput
from burnin.core.files.bounded import read_at_most

INDEX, TREE = "recording.json", "tree"
FORMAT = 1
_MOST_BYTES = 8 << 20


class RecordedFiles(HostFiles):
    """Answers `burnin.card.files.BenchFiles` from a recording's folder.

    Raises BadInput where the folder holds none.
    """

    def __init__(self, folder: Path) -> None:
        super().__init__(folder / TREE)
        index = _index(folder)
        self._refused: dict[str, int] = {str(k): int(v) for k, v in index["refused"].items()}
        self._nvml: dict[str, Any] = index["nvml"]

    def read_bytes(self, path: str, limit: int = 1 << 20) -> bytes:
        """The bytes, or the error that the bench gave."""
        number = self._refused.get(path)
        if number is not None:
            raise OSError(number, os.strerror(number), path)
        return super().read_bytes(path, limit)

    def nvml(self, address: str) -> RecordedLibrary | None:
        """What the driver's library answered of a card; None where it was not asked."""
        answers = self._nvml.get(address)
        return None if answers is None else RecordedLibrary(answers)


def holds_recording(folder: Path) -> bool:
    """Whether a folder is one that was recorded."""
    return (folder / INDEX).is_file()


def _index(folder: Path) -> dict[str, Any]:
    try:
        index = json.loads(read_at_most(folder / INDEX, _MOST_BYTES))
        sound = index["format"] == FORMAT and isinstance(index["refused"], dict)
        sound = sound and isinstance(index["nvml"], dict)
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise BadInput(RecordingRefusal.NONE(folder=str(folder), words=str(error))) from error
    if not sound:
        raise BadInput(RecordingRefusal.OTHER_FORMAT(folder=str(folder), format=FORMAT))
    return dict(index)
