"""The desk's socket: beside the records, its owner's alone, heard in a thread of its own.

It lies in `.desk` of the results' folder, so that a record that is copied holds nothing but files,
also after a run that was killed. Whoever may not act as the run is not heard: the socket has mode
0600, and the kernel is asked who is at the other end (unix(7), SO_PEERCRED).
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
import socket
import struct
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from burnin.core.files.open_flags import CLOEXEC, DIRECTORY
from burnin.core.files.own_process import own_uid
from burnin.core.files.private_files import private_folder
from burnin.core.meaning import Reason
from burnin.run.desk.letters import IN_TIME_S, Letter, letter_of, line_from, reply_line
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
        private_folder(desks_of(folder))
        self._socket = local_socket()
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
        """Hear nobody any more, and take the socket away."""
        with contextlib.suppress(OSError):
            socket_of(self._folder).unlink()
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
        if peer_uid(connection) != own_uid():
            return DeskReason.NOT_ALLOWED()
        return DeskReason.NOT_UNDERSTOOD() if letter is None else self._hear(letter)


def local_socket() -> socket.socket:
    """A socket of this bench alone; raises OSError where the system tells nobody's account."""
    if sys.platform == "linux":
        return socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
    else:  # each branch is another system's
        raise OSError(errno.EAFNOSUPPORT, os.strerror(errno.EAFNOSUPPORT))


def peer_uid(connection: socket.socket) -> int:
    """Number of the account at the other end; raises OSError."""
    if sys.platform == "linux":
        told = connection.getsockopt(socket.SOL_SOCKET, socket.SO_PEERCRED, _UCRED.size)
        return int(_UCRED.unpack(told)[1])
    else:
        raise OSError(errno.EAFNOSUPPORT, os.strerror(errno.EAFNOSUPPORT))


def desks_of(folder: Path) -> Path:
    """Where the sockets of the runs lie whose records lie beside this one."""
    return folder.resolve().parent.parent / ".desk"


def socket_of(folder: Path) -> Path:
    """The socket of the run that writes this record, named after it in a few letters."""
    place = folder.resolve()
    name = f"{place.parent.name}/{place.name}".encode("utf-8", "surrogateescape")
    return desks_of(folder) / f"{hashlib.sha256(name).hexdigest()[:16]}.sock"


@contextmanager
def short_name(folder: Path) -> Iterator[str]:
    """A name of that socket that fits an address (107 bytes), however long its path is."""
    path = socket_of(folder)
    handle = os.open(path.parent, os.O_RDONLY | DIRECTORY | CLOEXEC)
    try:
        yield f"/proc/self/fd/{handle}/{path.name}"
    finally:
        os.close(handle)
