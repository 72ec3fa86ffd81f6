"""All rows of a store but when they were taken in: two stores of the same files hold the same."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from pathlib import Path

from burnin.history.server.layout import SCHEMA
from burnin.history.store import open_to_write
from burnin.history.tables import IN_DATABASE
from tests.history.postgres import Server

OWN = ("taken_utc", "stamp")
Content = dict[str, Counter[tuple[object, ...]]]


def _content(
    ask: Callable[[str], list[tuple[object, ...]]], of: str, but: tuple[str, ...] = ()
) -> Content:
    found = {}
    for table in IN_DATABASE:
        names = ", ".join(f'"{c.name}"' for c in table.columns if c.name not in (*OWN, *but))
        found[table.name] = Counter(ask(f'SELECT {names} FROM {of}"{table.name}"'))
    return found


def content_of_folder(store: Path) -> Content:
    with open_to_write(store) as opened:
        return _content(opened.ask, "")


def content_of_server(of: Server, but: tuple[str, ...] = ()) -> Content:
    """What the office sees."""
    return _content(lambda asked: of.rows(asked, "office"), f"{SCHEMA}.", but)
