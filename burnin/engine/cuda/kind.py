"""The engine ``cuda``, as it registers itself."""

from __future__ import annotations

import importlib.util

from burnin.core.meaning import Note, Reason
from burnin.engine.cuda.cuda_errors import CudaReason
from burnin.engine.device.device import Device
from burnin.engine.engine import Engine
from burnin.engine.kind import CardWanted, EngineKind
from burnin.engine.meanings import EngineNote, EngineReason
from burnin.engine.process.worker_engine import WorkerEngine, arguments_for

NVIDIA = 0x10DE
"""PCI vendor number whose cards CUDA works."""


def probe(wanted: CardWanted) -> Reason | None:
    """Why CUDA cannot work this card; None where nothing speaks against it."""
    if wanted.software:
        return EngineReason.NO_SOFTWARE_ADAPTER(engine="CUDA")
    if wanted.vendor_id != NVIDIA:
        return CudaReason.OTHER_VENDOR(vendor_id=wanted.vendor_id, cuda_vendor_id=NVIDIA)
    if importlib.util.find_spec("cupy") is None:
        return CudaReason.NO_PACKAGE()
    return None


def open_worker(wanted: CardWanted, why: Note | None) -> Engine:
    """The engine in its worker process."""
    return WorkerEngine(arguments_for("cuda", wanted), why=why)


def open_device(wanted: CardWanted) -> Device:
    """The card, in the worker process."""
    from burnin.engine.cuda.device import open_cuda

    return open_cuda(wanted.address)


ENGINE = EngineKind(
    name="cuda",
    title="CUDA",
    priority=20,
    why=EngineNote.FASTEST_FOR_VENDOR(),
    probe=probe,
    open=open_worker,
    vendors=(NVIDIA,),
    open_device=open_device,
)
