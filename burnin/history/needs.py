"""Whether the packages of the history are installed here; the tool does without them."""

from __future__ import annotations

from importlib.util import find_spec

from burnin.core.errors import BadInput
from burnin.history.meanings import HistoryReason

PACKAGES = ("duckdb", "ibis", "pyarrow", "scipy")
FOR_SERVER = ("psycopg",)


def missing(packages: tuple[str, ...] = PACKAGES) -> tuple[str, ...]:
    """Modules that are not here; nothing is imported."""
    return tuple(name for name in packages if find_spec(name) is None)


def require() -> None:
    """Raise BadInput, with what is missing, where the history cannot be used."""
    lacking = missing()
    if lacking:
        raise BadInput(HistoryReason.NOT_INSTALLED(missing=lacking))


def require_driver() -> None:
    """Raise BadInput, with what is missing, where no server can be reached."""
    require()
    lacking = missing(FOR_SERVER)
    if lacking:
        raise BadInput(HistoryReason.NO_DRIVER(missing=lacking))
