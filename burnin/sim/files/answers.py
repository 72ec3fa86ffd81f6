"""What a file of the simulated bench is: a function that answers bytes, or a symbolic link."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from dataclasses import dataclass

Answer = Callable[[], bytes]


@dataclass(frozen=True)
class SymbolicLink:
    """A symbolic link to an absolute path."""

    target: str


Node = Answer | SymbolicLink


def text(value: str) -> Answer:
    """A file that always holds one line."""
    return lambda: f"{value}\n".encode()


def gone(what: str) -> OSError:
    """What a driver's file answers when its card is gone."""
    return OSError(errno.ENODEV, os.strerror(errno.ENODEV), what)


def hung(what: str) -> OSError:
    """What a driver's file answers when the driver waits for its card in vain."""
    return OSError(errno.ETIMEDOUT, os.strerror(errno.ETIMEDOUT), what)
