"""The desk's socket: in the record's folder, its owner's alone, heard in a thread of its own.

Whoever may not act as the run is not heard: the socket has mode 0600, and the kernel is asked who
is at the other end (unix(7), SO_PEERCRED).
"""

from __future__ import annotations

import contextlib
import os
import socket
import struct
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from burnin.core.meaning import Reason
from burnin.run.desk.letters import IN_TIME_S, SOCKET, Letter, letter_of, line_from, reply_line
from burnin.run.desk.meanings import DeskReason

Heard = Callable[[Letter], Reason | None]
"""Does what a letter asks for; gives why it was refused."""
_UCRED = struct.Struct("3i")
_WAITING = 8


class Listening:
    """A socket that hears one letter after the other until `close`."""

    def __init__(self, folder: Path, hear: Heard) -> None:
        """Raises OSError where there can be no socket in that folder."""
        self._folder, self._hear = folder, hear
        self._socket = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        try:
            with short_name(folder) as name:
                # One that is there is of a run that was killed: this run holds the record.
                Path(name).unlink(missing_ok=True)
                self._socket.bind(name)
                Path(name).chmod(0o600)  # nobody is let in before `listen`
            self._socket.listen(_WAITING)
        except OSError:
            self._socket.close()
            raise
        self._thread = threading.Thread(target=self._listen, name="desk", daemon=True)
        self._thread.start()

    def close(self) -> None:
        """Hear nobody any more, and take the socket out of the folder."""
        with contextlib.suppress(OSError):
            (self._folder / SOCKET).unlink()
        with contextlib.suppress(OSError):
            self._socket.shutdown(socket.SHUT_RDWR)
        self._thread.join(IN_TIME_S)
        self._socket.close()

    def _listen(self) -> None:
        while True:
            try:
                connection, _ = self._socket.accept()
            except OSError:
                return
            with connection, contextlib.suppress(OSError):
                connection.settimeout(IN_TIME_S)
                connection.sendall(reply_line(self._said(connection)))

    def _said(self, connection: socket.socket) -> Reason | None:
        try:
            letter = letter_of(line_from(connection))
        except ValueError:
            letter = None
        if peer_uid(connection) != os.geteuid():
            return DeskReason.NOT_ALLOWED()
        return DeskReason.NOT_UNDERSTOOD() if letter is None else self._hear(letter)


def peer_uid(connection: socket.socket) -> int:
    """Number of the account at the other end; raises OSError."""
    told = connection.getsockopt(socket.SOL_SOCKET, socket.SO_PEERCRED, _UCRED.size)
    return int(_UCRED.unpack(told)[1])


@contextmanager
def short_name(folder: Path) -> Iterator[str]:
    """A name of the folder's socket that fits an address (107 bytes), however long its path is."""
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
    try:
        yield f"/proc/self/fd/{handle}/{SOCKET}"
    finally:
        os.close(handle)
