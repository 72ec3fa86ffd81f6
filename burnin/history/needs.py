"""Whether the packages of the history are installed here; the tool does without them."""

from __future__ import annotations

from importlib.util import find_spec

from burnin.core.errors import BadInput
from burnin.history.meanings import HistoryReason

PACKAGES = ("duckdb", "ibis", "pyarrow", "scipy")


def missing() -> tuple[str, ...]:
    """Modules that are not here; nothing is imported."""
    return tuple(name for name in PACKAGES if find_spec(name) is None)


def require() -> None:
    """Raise BadInput, with what is missing, where the history cannot be used."""
    lacking = missing()
    if lacking:
        raise BadInput(HistoryReason.NOT_INSTALLED(missing=lacking))
