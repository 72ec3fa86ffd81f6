"""An engine whose card stops answering: software Vulkan until a slice that never ends.

Registered as ``hangs`` by the metadata that `registered` writes, as a shop's own engine would be.
HANGS_AT in the environment says how and when: ``dispatch:40`` is a slice that the card never
finishes, ``library:40`` one in which a library keeps the interpreter for itself.
"""

from __future__ import annotations

import ctypes
import os
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

from burnin.core.meaning import Note, Reason
from burnin.core.opening import EngineDescription
from burnin.engine.device.queued import QueuedCall
from burnin.engine.engine import Engine
from burnin.engine.kind import CardWanted, EngineKind
from burnin.engine.meanings import EngineNote
from burnin.engine.process.worker_engine import WorkerEngine, arguments_for
from burnin.engine.vulkan import kind as vulkan

HANGS_AT = "HANGS_AT"
_FOR_EVER_S = 3600


def _hang(how: str) -> None:
    if how == "library":
        ctypes.PyDLL(None).sleep(_FOR_EVER_S)  # without letting go of the interpreter
    time.sleep(_FOR_EVER_S)


class _Unit:
    """A unit of the device whose n-th slice never ends."""

    def __init__(self, unit: Any, slices: list[int], how: str, last: int) -> None:
        self._unit, self._slices, self._how, self._last = unit, slices, how, last

    def __getattr__(self, name: str) -> Any:
        return getattr(self._unit, name)

    def work(self, rounds: int) -> Any:
        return self._next(self._unit.work(rounds))

    def repeat(self, *given: Any) -> Any:
        return self._next(self._unit.repeat(*given))

    def _next(self, queued: Any) -> Any:
        self._slices[0] += 1
        if self._slices[0] < self._last:
            return queued
        return QueuedCall(lambda: _hang(self._how))


class _Device:
    def __init__(self, device: Any, how: str, last: int) -> None:
        self._device, self._how, self._last = device, how, last
        self._slices = [0]

    def __getattr__(self, name: str) -> Any:
        return getattr(self._device, name)

    def description(self) -> EngineDescription:
        described: EngineDescription = self._device.description()
        return replace(described, works_card=True)  # it is waited for as a card is

    def arithmetic(self) -> Any:
        return self._hanging(self._device.arithmetic())

    def compute_units(self, seed: int) -> Any:
        found = self._device.compute_units(seed)
        return replace(found, units=tuple(self._hanging(unit) for unit in found.units))

    def _hanging(self, unit: Any) -> Any:
        return _Unit(unit, self._slices, self._how, self._last)


def _open_device(wanted: CardWanted) -> Any:
    how, _, last = os.environ[HANGS_AT].partition(":")
    return _Device(vulkan.open_device(wanted), how, int(last))


def _nothing_lacks(_: CardWanted) -> Reason | None:
    return None


def _open(wanted: CardWanted, why: Note | None) -> Engine:
    return WorkerEngine(arguments_for("hangs", wanted), why=why)


ENGINE = EngineKind(
    name="hangs",
    title="an engine that hangs",
    priority=0,
    why=EngineNote.ANY_VENDOR(),
    probe=_nothing_lacks,
    open=_open,
    open_device=_open_device,
)


def registered(folder: Path) -> str:
    """What PYTHONPATH must be for the worker process to know the engine."""
    metadata = folder / "hangs-1.0.dist-info"
    metadata.mkdir()
    (metadata / "METADATA").write_text("Metadata-Version: 2.1\nName: hangs\nVersion: 1.0\n")
    (metadata / "entry_points.txt").write_text(
        "[burnin.engines]\nhangs = tests.faults.hanging_engine:ENGINE\n"
    )
    tree = Path(__file__).parents[2]
    before = os.environ.get("PYTHONPATH", "")
    return os.pathsep.join(part for part in (str(folder), str(tree), before) if part)
