"""Which engine works the card: the best one at hand, or the one that was asked for."""

from __future__ import annotations

import importlib.util
from typing import Protocol

from burnin.core.errors import EngineUnavailable
from burnin.engine.engine import Engine
from burnin.engine.process.worker_engine import WorkerEngine

ENGINES = ("cuda", "vulkan")
NVIDIA = 0x10DE
"""PCI vendor number whose cards CUDA works."""


class CardNumbers(Protocol):
    """What is needed to find a card in an API: bus address and PCI numbers."""

    @property
    def address(self) -> str:
        """Bus address as Linux writes it, e.g. ``0000:01:00.0``."""
        ...

    @property
    def vendor_id(self) -> int:
        """PCI vendor number."""
        ...

    @property
    def device_id(self) -> int:
        """PCI device number."""
        ...


def open_engine(
    card: CardNumbers, asked: str | None = None, software: bool = False, *, among_alike: int = 0
) -> Engine:
    """An engine for the card; raises EngineUnavailable with what to do.

    `asked` is ``cuda``, ``vulkan`` or None for the best at hand; `software` takes software Vulkan,
    which works the bench's processor instead of a card. `among_alike` picks one of several cards
    with the same PCI numbers where the API gives no bus address (`burnin.engine.proof` tells
    whether it was the right one).
    """
    if asked is not None and asked not in ENGINES:
        raise EngineUnavailable(f"no engine is called {asked!r}; there are {', '.join(ENGINES)}")
    if software:
        if asked == "cuda":
            raise EngineUnavailable("CUDA has no software adapter; leave the engine out")
        return WorkerEngine(["--engine", "vulkan", "--software"])
    if asked == "cuda":
        return _cuda(card, "asked for")
    if asked == "vulkan":
        return _vulkan(card, among_alike, "asked for")
    why = "works cards of any vendor"
    if card.vendor_id == NVIDIA:
        try:
            return _cuda(card, "the fastest for this vendor's cards")
        except EngineUnavailable as error:
            why = f"CUDA is not at hand ({error})"
    return _vulkan(card, among_alike, why)


def _cuda(card: CardNumbers, why: str) -> Engine:
    if card.vendor_id != NVIDIA:
        raise EngineUnavailable(
            f"CUDA works only cards of vendor {NVIDIA:04x}, this one is {card.vendor_id:04x}"
        )
    if importlib.util.find_spec("cupy") is None:
        raise EngineUnavailable("CUDA needs the extra: pip install 'burnin[cuda]'")
    return WorkerEngine(["--engine", "cuda", "--address", card.address], why=why)


def _vulkan(card: CardNumbers, among_alike: int, why: str) -> Engine:
    return WorkerEngine(
        [
            "--engine", "vulkan", "--vendor", f"{card.vendor_id:x}",
            "--device", f"{card.device_id:x}", "--among-alike", str(among_alike),
        ],
        why=why,
    )
