"""The worker process as its supervisor holds it: started, written to, read from, ended.

What it says on standard error is kept: a driver that aborts the process over a card that is gone
says so there and nowhere else.
"""

from __future__ import annotations

import contextlib
import os
import select
import signal
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from typing import IO, Any

from burnin.core.meaning import Reason
from burnin.engine.process import wire
from burnin.engine.process.exit_codes import why_ended
from burnin.engine.process.meanings import WorkerReason

END_WITHIN_S = 1.0
_HEARD_BYTES = 4096
_LOST = ("device is lost", "device lost", "device_lost")
"""How drivers say, in their last words, that the card is gone."""


class WorkerProcess:
    """One process in a session of its own; `killed` once it had to be."""

    def __init__(self, arguments: Sequence[str]) -> None:
        self._said: IO[bytes] = tempfile.TemporaryFile()  # noqa: SIM115 - closed in forget
        self._heard_out = 0  # what drivers say while they load explains no later end
        self._unread = b""
        self.killed = False
        self._process = subprocess.Popen(
            [
                sys.executable, "-m", "burnin.engine.process.worker",
                "--parent", str(os.getpid()), *arguments,
            ],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=self._said,
            start_new_session=True, bufsize=0,
        )  # fmt: skip
        assert self._process.stdout is not None
        assert self._process.stdin is not None
        self._in, self._out = self._process.stdin, self._process.stdout
        os.set_blocking(self._in.fileno(), False)
        os.set_blocking(self._out.fileno(), False)

    @property
    def pid(self) -> int:
        """Its process id."""
        return self._process.pid

    @property
    def ended(self) -> bool:
        """Whether it is gone."""
        return self._process.poll() is not None

    def send(self, **message: Any) -> None:
        """Write an order; a worker that is gone is noticed by `ended`."""
        with contextlib.suppress(OSError, ValueError):
            self._in.write(wire.line(message))

    def messages(self, wait_s: float) -> list[dict[str, Any]]:
        """Messages that are there, after waiting at most `wait_s` for the first byte."""
        if wait_s > 0:
            select.select([self._out], [], [], wait_s)
        while True:
            try:
                chunk = os.read(self._out.fileno(), 65536)
            except OSError:
                break
            if not chunk:
                break
            self._unread += chunk
        *lines, self._unread = self._unread.split(b"\n")
        return [wire.message(text) for text in lines]

    def kill(self) -> None:
        """End it at once, and wait until it is gone."""
        if not self.ended:
            self.killed = True
            self._process.kill()
            self._process.wait()

    def end(self) -> None:
        """Tell it to end; kill it where it does not."""
        self.send(do="end")
        with contextlib.suppress(OSError):
            self._in.close()
        try:
            self._process.wait(END_WITHIN_S)
        except subprocess.TimeoutExpired:
            self.kill()
        self.forget()

    def forget(self) -> None:
        """Close what belongs to it."""
        for pipe in (self._in, self._out, self._said):
            with contextlib.suppress(OSError):
                pipe.close()

    def started(self) -> None:
        """What it has said until now explains no later end."""
        self._heard_out = self._said.seek(0, os.SEEK_END)

    def last_words(self) -> str:
        """The last line of what it said; empty where it said nothing."""
        lines = self._lines()
        return lines[-1].strip() if lines else ""

    def says_card_is_lost(self) -> bool:
        """Whether its last words were that the card is gone."""
        words = " ".join(self._lines()).lower()
        return any(phrase in words for phrase in _LOST)

    def why_it_ended(self) -> Reason:
        """By which signal or exit code it ended."""
        status = self._process.returncode
        if status is None:
            return WorkerReason.GONE()
        if status < 0:
            return WorkerReason.BY_SIGNAL(signal=signal.Signals(-status).name)
        return why_ended(status)

    def how_it_ended(self) -> Reason:
        """The same with its last words."""
        how, words = self.why_it_ended(), self.last_words()
        if not words:
            return WorkerReason.ENDED(how=how)
        return WorkerReason.ENDED_SAYING(how=how, words=words)

    def _lines(self) -> list[str]:
        end = self._said.seek(0, os.SEEK_END)
        self._said.seek(max(self._heard_out, end - _HEARD_BYTES))
        return self._said.read().decode(errors="replace").strip().splitlines()
