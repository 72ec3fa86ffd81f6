"""The worker process as its supervisor holds it: started, written to, read from, ended.

What it says on standard error is kept: a driver that aborts the process over a card that is gone
says so there and nowhere else.
"""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Sequence
from pathlib import Path
from typing import IO, Any

from burnin.core.files.open_flags import never_waits
from burnin.core.meaning import Reason
from burnin.engine.process import wire
from burnin.engine.process.exit_codes import why_ended
from burnin.engine.process.meanings import WorkerReason
from burnin.engine.process.ready import ready_to_read

END_WITHIN_S = 1.0
GONE_WITHIN_S = 1.0
"""A process that was killed and is not gone by then waits inside the kernel, mostly in a driver. (A
driver takes a part of that to give back a large card's memory.)"""
SILENT_AFTER_S = 0.75
"""A worker whose job works the card tells about every 0.05 s that it is alive: this is silence."""
PREPARING_SILENT_AFTER_S = 10.0
"""The same before its first slice, while libraries are loaded that let nothing else run."""
STOPPED_AFTER_S = 0.3
"""A worker that somebody has stopped (SIGSTOP) and not continued for so long is given up."""
_LOOK_COUNTS_S = 0.25
"""Longest that one look adds to a silence: a supervisor that stood still itself heard nothing."""
_HEARD_BYTES = 4096
_LOST = ("device is lost", "device lost", "device_lost")
"""How drivers say, in their last words, that the card is gone."""


class WorkerProcess:
    """One process in a session of its own.

    `killed` once it had to be; `left_behind` names it once it was killed and would not go.
    """

    def __init__(self, arguments: Sequence[str]) -> None:
        self._said: IO[bytes] = tempfile.TemporaryFile()  # noqa: SIM115 - closed in forget
        self._heard_out = 0  # what drivers say while they load explains no later end
        self._unread = b""
        self.killed = False
        self.left_behind: Reason | None = None
        self._slices = 0
        self._silent_s, self._looked_s = 0.0, time.monotonic()
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
        never_waits(self._in.fileno())
        never_waits(self._out.fileno())

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
            ready_to_read(self._out.fileno(), wait_s)
        while True:
            try:
                chunk = os.read(self._out.fileno(), 65536)
            except OSError:
                break
            if not chunk:
                break
            self._unread += chunk
        *lines, self._unread = self._unread.split(b"\n")
        found = [wire.message(text) for text in lines]
        if found:
            self._heard()
        for message in found:
            self._slices = int(message.get("slices", self._slices))
        return found

    def job_begins(self) -> None:
        """From now on it must tell that it is alive."""
        self._slices = 0
        self._heard()

    def hangs(self) -> Reason | None:
        """Why it is to be given up while a job runs; None: it is alive, or silent for a moment.

        To be asked often, and after what it has told was read.
        """
        stopped = self.stopped()
        allowed_s = SILENT_AFTER_S if self._slices else PREPARING_SILENT_AFTER_S
        if stopped is not None or self._silent_s <= allowed_s:
            return stopped
        return WorkerReason.SILENT(seconds=allowed_s)

    def stopped(self) -> Reason | None:
        """That somebody stopped it, and it has been silent since; also before it is ready."""
        now_s = time.monotonic()
        self._silent_s += min(now_s - self._looked_s, _LOOK_COUNTS_S)
        self._looked_s = now_s
        if self._silent_s > STOPPED_AFTER_S and self._state() in ("T", "t"):
            return WorkerReason.STOPPED(seconds=STOPPED_AFTER_S)
        return None

    def _heard(self) -> None:
        self._silent_s, self._looked_s = 0.0, time.monotonic()

    def _state(self) -> str:
        """The kernel's letter for what it does (proc(5)); empty where that cannot be told."""
        try:
            told = Path(f"/proc/{self.pid}/stat").read_text("ascii", "replace")
        except OSError:
            return ""
        return told.rpartition(")")[2].split()[0]

    def kill(self, why: Reason) -> None:
        """End it at once, and wait until it is gone; one that would not go is left behind."""
        if self.ended or self.left_behind is not None:
            return
        self.killed = True
        self._process.kill()
        try:
            self._process.wait(GONE_WITHIN_S)
        except subprocess.TimeoutExpired:
            self.left_behind = WorkerReason.LEFT_BEHIND(
                pid=self.pid, seconds=GONE_WITHIN_S, how=why
            )
            threading.Thread(target=self._process.wait, name="left behind", daemon=True).start()

    def still_left_behind(self) -> Reason | None:
        """The same, while it is there."""
        return None if self.ended else self.left_behind

    def end(self) -> None:
        """Tell it to end; kill it where it does not."""
        self.send(do="end")
        with contextlib.suppress(OSError):
            self._in.close()
        try:
            self._process.wait(0.0 if self.killed else END_WITHIN_S)
        except subprocess.TimeoutExpired:
            self.kill(WorkerReason.END_UNHEARD(seconds=END_WITHIN_S))
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
