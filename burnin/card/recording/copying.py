"""Copies what a bench's files answer into a folder, link for link, error for error."""

from __future__ import annotations

import json
import os
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from burnin.card.attributes import Attributes
from burnin.card.capabilities import Card
from burnin.card.files import HostFiles
from burnin.card.recording import places
from burnin.card.recording.names import names_at_hand
from burnin.card.recording.nvml_answers import RecordingLibrary
from burnin.card.recording.recorded_files import FORMAT, INDEX, TREE
from burnin.card.recording.refusals import RecordingRefusal
from burnin.card.recording.stripping import stripped
from burnin.card.sources.drm import DRM
from burnin.card.sources.link import SERVICES
from burnin.card.sources.nvml_card import NvmlCard
from burnin.card.sources.nvml_library import open_handle, open_library
from burnin.card.sources.pci_devices import ADDRESS, DEVICES
from burnin.core.errors import BadInput
from burnin.core.reading import NotMeasured

_MOST_BYTES = 64 << 10
_MOST_LINKS = 40
"""Of a path; Linux gives up there too (path_resolution(7))."""
_FIRST_LINES = {"/proc/cpuinfo": 30, "/proc/meminfo": 3}


@dataclass
class _Copy:
    """A copy while it is made: `refused` are error numbers by path as it was asked for."""

    bench: Path
    tree: Path
    refused: dict[str, int] = field(default_factory=dict)
    files_count: int = 0

    def file(self, path: str) -> None:
        """Copy one file's content; an error is kept as such, but for a file that is not there."""
        try:
            data = HostFiles(self.bench).read_bytes(path, _MOST_BYTES)
        except (FileNotFoundError, NotADirectoryError):
            return
        except OSError as error:
            self.refused[path] = error.errno or 0
            return
        there = self.place(path)
        if there is None or there.is_dir():
            return
        lines = _FIRST_LINES.get(path)
        if lines is not None:
            data = b"".join(data.splitlines(keepends=True)[:lines])
        there.parent.mkdir(parents=True, exist_ok=True)
        there.write_bytes(stripped(path, data))
        self.files_count += 1

    def text(self, path: str, content: str) -> None:
        """A file in the place of one that is too large to copy."""
        there = self.tree / path.lstrip("/")
        there.parent.mkdir(parents=True, exist_ok=True)
        there.write_text(content)
        self.files_count += 1

    def place(self, path: str) -> Path | None:
        """Where a path of the bench lies in the copy; every link on the way is made there too."""
        left, at = [part for part in path.split("/") if part], Path()
        for _ in range(_MOST_LINKS):
            while left:
                part = left.pop(0)
                at = at.parent if part == ".." else at / part
                if not (self.bench / at).is_symlink():
                    continue
                target = (self.bench / at).readlink()
                self._link(at, target)
                inside = target.relative_to("/") if target.is_absolute() else at.parent / target
                left, at = [*inside.parts, *left], Path()
                break
            else:
                return self.tree / at
        return None

    def folder(self, path: str) -> None:
        """Make a folder, or the link that leads to one, without its content."""
        there = self.place(path)
        if there is not None:
            there.mkdir(parents=True, exist_ok=True)

    def _link(self, at: Path, target: Path) -> None:
        link = self.tree / at
        if link.is_symlink():
            return
        link.parent.mkdir(parents=True, exist_ok=True)
        if target.is_absolute():
            target = Path(os.path.relpath(self.tree / target.relative_to("/"), link.parent))
        link.symlink_to(target)


def record_bench(
    folder: Path, cards: Iterable[Card], *, bench: Path = Path("/"), this_machine: bool = True
) -> int:
    """Copy what this bench answers of itself and its cards; how many files were copied.

    Raises BadInput where the folder is not empty. Nothing is written on the bench.
    """
    if folder.exists() and any(folder.iterdir()):
        raise BadInput(RecordingRefusal.NOT_EMPTY(folder=str(folder)))
    folder.mkdir(parents=True, exist_ok=True)
    copy, files = _Copy(bench, folder / TREE), HostFiles(bench)
    for path in (*places.OF_BENCH, *places.slots(files)):
        copy.file(path)
    for function in places.functions(files):
        copy.folder(function)
        for name in places.OF_EVERY_FUNCTION:
            copy.file(f"{function}/{name}")
    copy.folder(SERVICES)
    for service in Attributes(files, f"{SERVICES}/aer").names():
        copy.folder(f"{SERVICES}/aer/{service}")
    named = names_at_hand(files)
    if named is not None:
        copy.text(*named)
    nvml: dict[str, Any] = {}
    for card in cards:
        address = card.identity().address
        _device(copy, files, f"{DEVICES}/{address}")
        if this_machine:
            answers = _asked(address)
            if answers is not None:
                nvml[address] = answers
    _outputs(copy, files)
    index = {"format": FORMAT, "refused": copy.refused, "nvml": nvml}
    (folder / INDEX).write_text(json.dumps(index, indent=1, sort_keys=True) + "\n")
    return copy.files_count


def _device(copy: _Copy, files: HostFiles, folder: str) -> None:
    """A card with all ports above it, their drivers' links among it."""
    parts = files.resolve(folder).split("/")
    for end in range(len(parts), 0, -1):
        if not ADDRESS.fullmatch(parts[end - 1]):
            continue
        device = "/".join(parts[:end])
        for path in places.of_device(files, device):
            copy.file(path)
        try:
            driver = files.resolve(f"{device}/driver")
        except OSError:
            continue
        copy.folder(f"{device}/driver")
        for module in (f"{driver}/module", f"/sys/module/{driver.rsplit('/', 1)[-1]}"):
            copy.file(f"{module}/version")
            if (copy.bench / module.lstrip("/")).exists():
                copy.folder(module)


def _outputs(copy: _Copy, files: HostFiles) -> None:
    for name in places.outputs(files):
        copy.folder(f"{DRM}/{name}")
        if (copy.bench / f"{DRM}/{name}/device".lstrip("/")).exists():
            copy.folder(f"{DRM}/{name}/device")
        card, _, output = name.partition("-")
        for attribute in ("status", "enabled", "modes", "edid") if output else ():
            copy.file(f"{DRM}/{name}/{attribute}")
        for path in places.of_output(card, output) if output else ():
            copy.file(path)


def _asked(address: str) -> dict[str, Any] | None:
    """All that the driver's library answers of a card; None where it has no such card."""
    library = open_library()
    if isinstance(library, NotMeasured):
        return None
    handle = open_handle(library, address)
    if isinstance(handle, NotMeasured):
        return None
    recording = RecordingLibrary(library)
    card = NvmlCard(recording, handle)
    card.read(tuple(card.offers))
    card.link()
    card.error_counters()
    card.memory_errors()
    return recording.answers
