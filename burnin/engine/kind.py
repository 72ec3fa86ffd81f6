"""What an engine registers of itself: a member of the seam `burnin.engines`."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from burnin.core.meaning import Note, Reason
from burnin.engine.device.device import Device
from burnin.engine.engine import Engine


@dataclass(frozen=True)
class CardWanted:
    """The card that an engine should work, by its bus address and PCI numbers.

    `among_alike` picks one of several cards with the same numbers where an API gives no address.
    `software`: no card, but the bench's processor through a software adapter.
    """

    address: str = ""
    vendor_id: int = 0
    device_id: int = 0
    among_alike: int = 0
    software: bool = False


@dataclass(frozen=True)
class EngineKind:
    """An engine: what it is called, which cards it works, how it is opened.

    `title` is the API's own name. Of those at hand the one of highest `priority` is taken, and
    `why` says why it was. `vendors`: PCI numbers of those whose cards it works, empty for any.
    `probe` looks, cheaply and without the card, for what keeps it from working; None: nothing.
    `open` gets the note that says why it is this engine, and raises EngineUnavailable.
    `open_device` is called in the worker process of an engine that has one
    (`burnin.engine.process`), and raises EngineUnavailable.
    """

    name: str
    title: str
    priority: int
    why: Note
    probe: Callable[[CardWanted], Reason | None]
    open: Callable[[CardWanted, Note | None], Engine]
    vendors: tuple[int, ...] = ()
    open_device: Callable[[CardWanted], Device] | None = None
