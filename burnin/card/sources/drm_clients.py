"""Which process has kept a card busy, from the open files of that process.

Keys and units: Linux Documentation/gpu/drm-usage-stats.rst. A process may hold several files of one
client; each client counts once.
"""

from __future__ import annotations

import re

from burnin.card.capabilities import ProcessUse
from burnin.card.file_errors import why_unread
from burnin.card.files import BenchFiles, read_text
from burnin.card.sources.meanings import LinuxReason, LinuxSourceOf
from burnin.core.reading import NotMeasured

_ENGINE, _CAPACITY = "drm-engine-", "drm-engine-capacity-"
_CYCLES = "drm-cycles-"


def drm_use(files: BenchFiles, pid: int, address: str) -> ProcessUse | NotMeasured:
    """What the drivers show of a process at the card with this address."""
    folder = f"/proc/{pid}/fdinfo"
    try:
        names = files.list_folder(folder)
    except OSError as error:
        return why_unread(error, folder)
    clients: dict[str, int | None] = {}
    any_driver = False
    for name in names:
        told = _keys(files, f"{folder}/{name}")
        any_driver |= "drm-driver" in told
        if told.get("drm-pdev", "").lower() == address.lower():
            client = told.get("drm-client-id", name)
            clients[client] = _longest(clients.get(client), _busy(told))
    if not any_driver:
        return NotMeasured(LinuxReason.NO_PROCESS_USE())
    spent = [busy for busy in clients.values() if busy is not None]
    untold = len(spent) < len(clients)
    return ProcessUse(bool(clients), None if untold else sum(spent), LinuxSourceOf.DRM_CLIENTS())


_DIGITS = re.compile(r"\d{1,20}", re.ASCII)
"""A counter of 64 bits has no more."""


def _keys(files: BenchFiles, path: str) -> dict[str, str]:
    """Keys of one open file; none where it was closed meanwhile."""
    try:
        lines = read_text(files, path).splitlines()
    except OSError:
        return {}
    parted = (line.partition(":") for line in lines if line.startswith("drm-"))
    return {key.strip(): value.strip() for key, _, value in parted}


def _busy(told: dict[str, str]) -> int | None:
    """Sum over the engines, ns; in cycles where a driver counts those: only its rise is used."""
    for prefix in (_ENGINE, _CYCLES):
        values = [
            int(number)
            for key, value in told.items()
            if key.startswith(prefix) and not key.startswith(_CAPACITY)
            and _DIGITS.fullmatch(number := value.partition(" ")[0])
        ]  # fmt: skip
        if values:
            return sum(values)
    return None


def _longest(first: int | None, second: int | None) -> int | None:
    known = [value for value in (first, second) if value is not None]
    return max(known) if known else None
