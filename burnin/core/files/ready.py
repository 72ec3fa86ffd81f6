"""Which of several sources have something to read: `select` takes no handle above 1023."""

from __future__ import annotations

import selectors
import socket
from collections.abc import Iterable
from typing import TypeVar

Source = TypeVar("Source", int, socket.socket)


def ready(sources: Iterable[Source], wait_s: float) -> list[Source]:
    """Those that can be read now, or first within `wait_s`; raises OSError, ValueError."""
    with selectors.DefaultSelector() as all_of_them:
        for source in sources:
            all_of_them.register(source, selectors.EVENT_READ, source)
        return [key.data for key, _ in all_of_them.select(wait_s)]
