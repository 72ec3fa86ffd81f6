"""The card as the worker process opens it: through whatever engine is registered."""

from __future__ import annotations

from burnin.core import seams
from burnin.core.errors import BadInput, EngineUnavailable
from burnin.engine.device.device import Device
from burnin.engine.kind import CardWanted, EngineKind
from burnin.engine.meanings import EngineReason


def open_device(engine: str, wanted: CardWanted) -> Device:
    """The card, opened by a registered engine; raises EngineUnavailable."""
    try:
        kind = seams.member("engines", engine)
    except BadInput as error:
        raise EngineUnavailable(EngineReason.NOT_LOADED(words=error.told)) from error
    if not isinstance(kind, EngineKind) or kind.open_device is None:
        raise EngineUnavailable(EngineReason.NO_WORKER(engine=engine))
    return kind.open_device(wanted)
