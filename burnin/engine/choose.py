"""Which engine works the card: the best one at hand, or the one that was asked for."""

from __future__ import annotations

from typing import Protocol, cast

from burnin.core import seams
from burnin.core.errors import EngineUnavailable
from burnin.core.meaning import Note, Reason
from burnin.engine.engine import Engine
from burnin.engine.kind import CardWanted, EngineKind
from burnin.engine.meanings import EngineNote, EngineReason


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


def engine_kinds() -> dict[str, EngineKind]:
    """Every registered engine by its name."""
    return cast("dict[str, EngineKind]", seams.members("engines"))


def open_engine(
    card: CardNumbers, asked: str | None = None, software: bool = False, *, among_alike: int = 0
) -> Engine:
    """An engine for the card; raises EngineUnavailable with what to do.

    `asked` is an engine's name, or None for the best at hand; `software` takes a software adapter,
    which works the bench's processor instead of a card. `among_alike` picks one of several cards
    with the same PCI numbers where the API gives no bus address (`burnin.engine.proof` tells
    whether it was the right one).
    """
    wanted = CardWanted(card.address, card.vendor_id, card.device_id, among_alike, software)
    kinds = engine_kinds()
    if asked is not None:
        if asked not in kinds:
            unknown = EngineReason.UNKNOWN_ENGINE(asked=asked, known=tuple(kinds))
            raise EngineUnavailable(unknown)
        return _opened(kinds[asked], wanted, None if software else EngineNote.ASKED_FOR())
    return _best(list(kinds.values()), wanted)


def _best(kinds: list[EngineKind], wanted: CardWanted) -> Engine:
    """The engine of highest priority that opens the card; the next ones say why they are it."""
    missed: Reason = EngineReason.NONE_AT_HAND()
    instead: Note | None = None
    for kind in sorted(kinds, key=lambda kind: -kind.priority):
        if kind.vendors and wanted.vendor_id not in kind.vendors and not wanted.software:
            continue
        try:
            return _opened(kind, wanted, None if wanted.software else instead or kind.why)
        except EngineUnavailable as error:
            missed = error.reason
            instead = EngineNote.OTHER_NOT_AT_HAND(engine=kind.title, reason=missed)
    raise EngineUnavailable(missed)


def _opened(kind: EngineKind, wanted: CardWanted, why: Note | None) -> Engine:
    lacking = kind.probe(wanted)
    if lacking is not None:
        raise EngineUnavailable(lacking)
    return kind.open(wanted, why)
