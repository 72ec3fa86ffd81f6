"""The engine ``vulkan``, as it registers itself."""

from __future__ import annotations

from burnin.core.meaning import Note, Reason
from burnin.engine.device.device import Device
from burnin.engine.engine import Engine
from burnin.engine.kind import CardWanted, EngineKind
from burnin.engine.meanings import EngineNote
from burnin.engine.process.worker_engine import WorkerEngine, arguments_for


def probe(wanted: CardWanted) -> Reason | None:  # noqa: ARG001 - only opening a card can tell
    """Nothing speaks against it before the card is opened."""
    return None


def open_worker(wanted: CardWanted, why: Note | None) -> Engine:
    """The engine in its worker process."""
    return WorkerEngine(arguments_for("vulkan", wanted), why=why)


def open_device(wanted: CardWanted) -> Device:
    """The card or the software adapter, in the worker process."""
    from burnin.engine.vulkan.adapters import choose, vulkan_adapters
    from burnin.engine.vulkan.device import VulkanDevice

    choice = choose(
        vulkan_adapters(),
        wanted.vendor_id,
        wanted.device_id,
        software=wanted.software,
        among_alike=wanted.among_alike,
    )
    return VulkanDevice(choice)


ENGINE = EngineKind(
    name="vulkan",
    title="Vulkan",
    priority=10,
    why=EngineNote.ANY_VENDOR(),
    probe=probe,
    open=open_worker,
    open_device=open_device,
)
