"""One card of a batch: the process of its run, the socket to it, and what it has told so far."""

from __future__ import annotations

import contextlib
import errno
import os
import signal
import socket
import subprocess
import sys
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import IO

from burnin.core.meaning import Reason
from burnin.record.batches.batch import CardOfBatch
from burnin.run.batch.meanings import BatchReason
from burnin.run.batch.process_seen import ProcessSeen, seen
from burnin.run.leave.letters import (
    MOST_BYTES,
    Asks,
    Began,
    OfKeeper,
    OfRun,
    Shows,
    Wants,
    as_packet,
    letter_of,
)

Command = Callable[[int], Sequence[str]]
"""The command that carries out a card's run, given the number of its end of the socket."""
_LAST_BYTES = 2000

KILL = 9
"""SIGKILL (signal(7)), which Windows has no name for."""


@dataclass
class Member:
    """A card with its run.

    `holds`: open files that its process is to hold too, for as long as it lives. `power_w` and
    `limit_w`: what it drew at rest before, and may draw at most, None where they cannot be told.
    `asks` is its newest asking, `over` whether that one's load is off and the card
    not yet at rest, `waits` what for. `heard_s`: when it last gave a sign of life.
    """

    card: CardOfBatch
    command: Command
    holds: tuple[int, ...] = ()
    power_w: float | None = None
    limit_w: float | None = None
    shows: Shows | None = None
    asks: Asks | None = None
    waits: Reason | None = None
    wants: Wants | None = None
    ready: bool = False
    may_begin: bool = False
    over: bool = False
    heard: bool = False
    heard_s: float = 0.0
    ended_s: float = 0.0
    given_up: bool = False
    workers: list[ProcessSeen] = field(default_factory=list)
    _process: subprocess.Popen[bytes] | None = None
    _socket: socket.socket | None = None
    _said: IO[bytes] | None = None
    _unsent: list[OfKeeper] = field(default_factory=list)

    @property
    def address(self) -> str:
        """The card's bus address."""
        return self.card.address

    @property
    def pid(self) -> int:
        """The number of its run's process; 0 before there was one."""
        return self._process.pid if self._process is not None else 0

    def start(self) -> None:
        """Start its run, which has a session of its own: Ctrl-C is the keeper's to pass on.

        Raises OSError where the system would not.
        """
        ours, theirs = local_pair()
        self._said = tempfile.TemporaryFile()  # noqa: SIM115 - read when the process has ended
        try:
            self._process = subprocess.Popen(
                list(self.command(theirs.fileno())),
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=self._said,
                pass_fds=(theirs.fileno(), *self.holds),
                start_new_session=True,
            )
        except BaseException:
            ours.close()
            raise
        finally:
            theirs.close()
        ours.setblocking(False)
        self._socket = ours

    def fileno(self) -> int | None:
        """The socket's number, for whoever waits for letters; None where nobody is there."""
        return self._socket.fileno() if self._socket is not None else None

    def letters(self) -> list[OfRun]:
        """All letters that have come; the socket is closed where the run has hung up."""
        found: list[OfRun] = []
        while self._socket is not None:
            try:
                packet = self._socket.recv(MOST_BYTES)
            except BlockingIOError:
                break
            except OSError:
                packet = b""
            if not packet:
                self.hang_up()
                break
            letter = letter_of(packet)
            if letter is not None and not isinstance(letter, OfKeeper):
                self._see_worker(letter)
                found.append(letter)
        return found

    def send(self, letter: OfKeeper) -> None:
        """Send a letter; what the run cannot take now, as it is stopped, follows later."""
        self._unsent.append(letter)
        self.send_left()

    def send_left(self) -> None:
        """Send what could not be taken before."""
        while self._unsent and self._socket is not None:
            try:
                self._socket.send(as_packet(self._unsent[0]))
            except BlockingIOError:
                return
            except OSError:
                self.hang_up()
                return
            self._unsent.pop(0)

    def hang_up(self) -> None:
        """Close the socket."""
        if self._socket is not None:
            self._socket.close()
            self._socket = None

    def signal(self, number: int) -> None:
        """Send its process a signal; nothing where it has ended."""
        if self._process is not None and self._process.poll() is None:
            with contextlib.suppress(ProcessLookupError):
                os.kill(self._process.pid, number)

    def exit_code(self) -> int | None:
        """How its process ended; None while it runs, or before it was started."""
        return self._process.poll() if self._process is not None else None

    def stands_still(self) -> bool:
        """Whether somebody stopped its process."""
        process = seen(self.pid)
        return process is not None and process.stands_still()

    def left_workers(self) -> list[ProcessSeen]:
        """Processes that worked its card and are not gone yet."""
        return [worker for worker in self.workers if not worker.is_gone()]

    def why_no_word(self, silent_s: float) -> Reason:
        """Why its process ended without a word."""
        code = self.exit_code() or 0
        if self.given_up:
            return BatchReason.SILENT(silent_s=silent_s)
        if code < 0:
            return BatchReason.KILLED(signal=_signal_name(-code))
        words = self._last_words()
        if not self.card.record:
            return BatchReason.NOT_BEGUN(words=words)
        return BatchReason.ENDED_WITHOUT_WORD(exit_code=code, words=words)

    def close(self) -> None:
        """Let go of what was opened for its process."""
        self.hang_up()
        if self._said is not None:
            self._said.close()
            self._said = None

    def _see_worker(self, letter: OfRun) -> None:
        """Remember whose load is on the card, so that it is known when it is gone."""
        pid = letter.worker_pid if isinstance(letter, Began | Asks) else 0
        if pid and all(worker.pid != pid or worker.is_gone() for worker in self.workers):
            process = seen(pid)
            if process is not None:
                self.workers.append(process)

    def _last_words(self) -> str:
        if self._said is None:
            return ""
        with contextlib.suppress(OSError, ValueError):
            end = self._said.seek(0, os.SEEK_END)
            self._said.seek(max(0, end - _LAST_BYTES))
            return " ".join(self._said.read().decode("utf-8", "replace").split())
        return ""


def _signal_name(number: int) -> str:
    try:
        return signal.Signals(number).name
    except ValueError:
        return str(number)


def local_pair() -> tuple[socket.socket, socket.socket]:
    """Two ends that keep letters apart; raises OSError where the system has none."""
    if sys.platform == "win32":
        raise OSError(errno.EAFNOSUPPORT, os.strerror(errno.EAFNOSUPPORT))
    else:  # each branch is another system's
        return socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
