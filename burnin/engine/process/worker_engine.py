"""The supervisor's side of the worker process."""

from __future__ import annotations

import contextlib
import os
import select
import signal
import subprocess
import sys
import tempfile
import time
from collections import deque
from collections.abc import Sequence
from dataclasses import replace
from typing import IO, Any

from burnin.core.errors import EngineError, EngineUnavailable, WorkerEnded
from burnin.engine.engine import EngineDescription
from burnin.engine.job import (
    ComputeResult,
    Failed,
    Job,
    LoadResult,
    MemoryResult,
    TrafficResult,
    WorkEvent,
)
from burnin.engine.process import wire

READY_WITHIN_S = 60.0
STOP_WITHIN_S = 0.1
END_WITHIN_S = 1.0
_ENDINGS = (MemoryResult, ComputeResult, TrafficResult, LoadResult, Failed)


class WorkerEngine:
    """An `Engine` whose work is done by a worker process of its own session.

    Construct it in a thread that lives as long as the engine: the kernel kills the worker when
    the thread that started it ends. Raises EngineUnavailable when the worker cannot open the card.
    """

    def __init__(
        self, arguments: Sequence[str], *, why: str = "", stop_within_s: float = STOP_WITHIN_S
    ) -> None:
        """`arguments` are the worker's; `why` is added to the description's reason."""
        self._arguments = list(arguments)
        self._why = why
        self._stop_within_s = stop_within_s
        self._process: subprocess.Popen[bytes] | None = None
        self._complaints: IO[bytes] | None = None
        self._unread = b""
        self._events: deque[WorkEvent] = deque()
        self._job_runs = False
        self._stops = 0
        self._stopped = 0
        self._killed = False
        self._heard_out = 0  # what drivers say while they load explains no later end
        self._description = self._start()

    def description(self) -> EngineDescription:
        """What works the card."""
        return self._description

    @property
    def pid(self) -> int | None:
        """Process id of the worker; None when there is none."""
        return self._process.pid if self._process is not None else None

    def begin(self, job: Job) -> None:
        """Start a job and return at once; a worker that was killed is started anew."""
        if self._job_runs:
            raise EngineError("a job is running; stop it before another begins")
        if self._process is None or self._process.poll() is not None:
            self._forget()
            self._description = self._start()
        self._events.clear()
        self._job_runs = True
        self._send(do="begin", job=job)

    def poll(self) -> tuple[WorkEvent, ...]:
        """Events since the last call, oldest first; never blocks. Raises WorkerEnded."""
        self._read(0.0)
        found = tuple(self._events)
        self._events.clear()
        if not found and self._job_runs and self._ended():
            self._read(0.0)
            if self._events:
                return self.poll()
            self._job_runs = False
            if self._lost():
                return (Failed(f"the card stopped answering: {self._last_complaint()}", True),)
            raise WorkerEnded(self._how_it_ended())
        return found

    def beat(self) -> None:
        """The supervisor lives and the last sample passed its guards."""
        self._send(do="beat")

    def set_share(self, share: float) -> None:
        """Share of each slice that is work (0 to 1)."""
        self._send(do="share", share=share)

    def stop(self) -> float:
        """End the job; seconds until the worker confirmed, or was killed because it did not."""
        began_s = time.perf_counter()
        if not self._job_runs or self._process is None:
            return 0.0
        self._stops += 1
        self._send(do="stop", number=self._stops)
        deadline_s = began_s + self._stop_within_s
        while self._stopped < self._stops and not self._ended():
            left_s = deadline_s - time.perf_counter()
            if left_s <= 0:
                self._kill()
                break
            self._read(left_s)
        took_s = time.perf_counter() - began_s
        self._read(0.0)
        if self._job_runs:
            self._job_runs = False
            late = self._killed
            why = f"it did not confirm a stop within {self._stop_within_s:g} s and was killed"
            text = f"the engine's worker process: {why}" if late else self._how_it_ended()
            self._events.append(Failed(text, self._lost()))
        return took_s

    def close(self) -> None:
        """Stop, and end the worker process."""
        if self._process is None:
            return
        self.stop()
        self._send(do="end")
        with contextlib.suppress(OSError):
            if self._process.stdin is not None:
                self._process.stdin.close()
        try:
            self._process.wait(END_WITHIN_S)
        except subprocess.TimeoutExpired:
            self._kill()
        self._forget()

    def __enter__(self) -> WorkerEngine:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _start(self) -> EngineDescription:
        self._complaints = tempfile.TemporaryFile()  # noqa: SIM115 - closed in _forget
        command = [
            sys.executable, "-m", "burnin.engine.process.worker", "--parent", str(os.getpid()),
            *self._arguments,
        ]
        self._process = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=self._complaints,
            start_new_session=True, bufsize=0,
        )
        self._unread, self._killed, self._heard_out = b"", False, 0
        assert self._process.stdout is not None
        assert self._process.stdin is not None
        os.set_blocking(self._process.stdout.fileno(), False)
        os.set_blocking(self._process.stdin.fileno(), False)
        deadline_s = time.monotonic() + READY_WITHIN_S
        while (left_s := deadline_s - time.monotonic()) > 0:
            for message in self._messages(min(left_s, 0.5)):
                if message["is"] == "ready":
                    found = wire.unpacked(message["description"])
                    assert isinstance(found, EngineDescription)
                    self._heard_out = self._complaints.seek(0, os.SEEK_END)
                    return replace(found, why="; ".join(filter(None, (self._why, found.why))))
                self.close()
                raise EngineUnavailable(str(message.get("reason", "the worker refused")))
            if self._process.poll() is not None:
                reason = self._last_complaint() or self._cause()
                self._forget()
                raise EngineUnavailable(f"the engine's worker process did not start: {reason}")
        self._kill()
        self._forget()
        raise EngineUnavailable(f"the card was not opened within {READY_WITHIN_S:g} s")

    def _send(self, **message: Any) -> None:
        """Write an order; a worker that is gone is noticed by poll."""
        if self._process is None or self._process.stdin is None:
            return
        with contextlib.suppress(OSError, ValueError):
            self._process.stdin.write(wire.line(message))

    def _messages(self, wait_s: float) -> list[dict[str, Any]]:
        """Messages that are there, after waiting at most `wait_s` for the first byte."""
        if self._process is None or self._process.stdout is None:
            return []
        pipe = self._process.stdout
        if wait_s > 0:
            select.select([pipe], [], [], wait_s)
        while True:
            try:
                chunk = os.read(pipe.fileno(), 65536)
            except (BlockingIOError, OSError):
                break
            if not chunk:
                break
            self._unread += chunk
        *lines, self._unread = self._unread.split(b"\n")
        return [wire.message(text) for text in lines]

    def _read(self, wait_s: float) -> None:
        for message in self._messages(wait_s):
            if message["is"] == "stopped":
                self._stopped = int(message["number"])
            elif message["is"] == "event":
                event = wire.unpacked(message["event"])
                self._events.append(event)
                if isinstance(event, _ENDINGS):
                    self._job_runs = False

    def _ended(self) -> bool:
        return self._process is None or self._process.poll() is not None

    def _kill(self) -> None:
        if self._process is not None and self._process.poll() is None:
            self._killed = True
            self._process.kill()
            self._process.wait()

    def _cause(self) -> str:
        code = self._process.returncode if self._process is not None else None
        if code is None:
            return "it is gone"
        if code < 0:
            return f"signal {signal.Signals(-code).name}"
        return f"exit code {code}"

    def _complaint_lines(self) -> list[str]:
        if self._complaints is None:
            return []
        self._complaints.seek(0, os.SEEK_END)
        self._complaints.seek(max(self._heard_out, self._complaints.tell() - 4096))
        return self._complaints.read().decode(errors="replace").strip().splitlines()

    def _last_complaint(self) -> str:
        lines = self._complaint_lines()
        return lines[-1].strip() if lines else ""

    def _lost(self) -> bool:
        """Whether the worker's last words were that the device is lost."""
        text = " ".join(self._complaint_lines()).lower()
        return "device is lost" in text or "device lost" in text or "device_lost" in text

    def _how_it_ended(self) -> str:
        complaint = self._last_complaint()
        text = f"the engine's worker process ended by itself ({self._cause()})"
        return f"{text}: {complaint}" if complaint else text

    def _forget(self) -> None:
        if self._process is not None:
            for pipe in (self._process.stdin, self._process.stdout):
                if pipe is not None:
                    with contextlib.suppress(OSError):
                        pipe.close()
        if self._complaints is not None:
            self._complaints.close()
        self._process, self._complaints = None, None
