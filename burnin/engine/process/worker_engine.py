"""The supervisor's side of the worker process: an `Engine` that works in a process of its own."""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import replace

from burnin.core.errors import EngineError, EngineUnavailable, WorkerEnded, WorkerSilent
from burnin.core.meaning import Note, Reason
from burnin.core.opening import EngineDescription
from burnin.engine.job import LAST_EVENTS, Failed, Job, WorkEvent
from burnin.engine.kind import CardWanted
from burnin.engine.meanings import EngineNote, EngineReason
from burnin.engine.process import wire
from burnin.engine.process.meanings import WorkerReason
from burnin.engine.process.worker_process import WorkerProcess

READY_WITHIN_S = 60.0
STOP_WITHIN_S = 0.1


def arguments_for(engine: str, wanted: CardWanted) -> list[str]:
    """The worker's arguments for a card, or for the bench's processor."""
    if wanted.software:
        return ["--engine", engine, "--software"]
    return [
        "--engine", engine, "--address", wanted.address, "--vendor", f"{wanted.vendor_id:x}",
        "--device", f"{wanted.device_id:x}", "--among-alike", str(wanted.among_alike),
    ]  # fmt: skip


class WorkerEngine:
    """An `Engine` whose work is done by a worker process of its own session.

    Construct it in a thread that lives as long as the engine: the kernel kills the worker when
    the thread that started it ends. Raises EngineUnavailable when the worker cannot open the card.
    """

    def __init__(
        self,
        arguments: Sequence[str],
        *,
        why: Note | None = None,
        stop_within_s: float = STOP_WITHIN_S,
    ) -> None:
        """`arguments` are the worker's; `why` is added to the description's reason."""
        self._arguments = list(arguments)
        self._why = why
        self._stop_within_s = stop_within_s
        self._process: WorkerProcess | None = None
        self._events: deque[WorkEvent] = deque()
        self._job_runs = False
        self._stops = 0
        self._stopped = 0
        self._description = self._start()

    def description(self) -> EngineDescription:
        """What works the card."""
        return self._description

    @property
    def pid(self) -> int | None:
        """Process id of the worker; None when there is none."""
        return self._process.pid if self._process is not None else None

    def process_id(self) -> int | None:
        """The same, as `burnin.engine.engine.WorksInProcess` asks for it."""
        return self.pid

    def begin(self, job: Job) -> None:
        """Start a job and return at once; a worker that was killed is started anew."""
        if self._job_runs:
            raise EngineError(EngineReason.JOB_RUNS())
        if self._process is not None and (left := self._process.still_left_behind()) is not None:
            raise WorkerSilent(left)
        if self._process is None or self._process.ended:
            self._forget()
            self._description = self._start()
        self._events.clear()
        self._job_runs = True
        if self._process is not None:
            self._process.job_begins()
        self._send(do="begin", job=job)

    def poll(self) -> tuple[WorkEvent, ...]:
        """Events since the last call, oldest first; never blocks longer than a kill takes.

        Raises WorkerEnded, and WorkerSilent for a worker that hung: it has been killed by then.
        """
        self._read(0.0)
        found = tuple(self._events)
        self._events.clear()
        process = self._process
        if not found and self._job_runs and (process is None or process.ended):
            self._read(0.0)
            if self._events:
                return self.poll()
            self._job_runs = False
            if process is None:
                raise WorkerEnded(WorkerReason.ENDED(how=WorkerReason.GONE()))
            if process.says_card_is_lost():
                said = EngineReason.DRIVER_SAYS(words=process.last_words())
                return (Failed(EngineReason.CARD_LOST(how=said), True),)
            raise WorkerEnded(process.how_it_ended())
        if process is None:
            return found
        if any(isinstance(event, Failed) and event.device_lost for event in found):
            process.kill(WorkerReason.TOLD_CARD_LOST())  # its driver may never let it go
        if self._job_runs and (how := process.hangs()) is not None:
            self._job_runs = False
            process.kill(how)
            raise WorkerSilent(process.left_behind or WorkerReason.GIVEN_UP(how=how))
        return found

    def beat(self) -> None:
        """The supervisor lives and the last sample passed its guards."""
        self._send(do="beat", sent_s=time.monotonic())

    def set_share(self, share: float) -> None:
        """Share of each slice that is work (0 to 1)."""
        self._send(do="share", share=share)

    def hear_power(self, power_w: float) -> None:
        """The card's power by its newest sample; see `burnin.engine.engine.HearsPower`."""
        self._send(do="power", power_w=power_w)

    def stop(self) -> float:
        """End the job; seconds until the worker confirmed, or was killed because it did not."""
        began_s = time.perf_counter()
        process = self._process
        if not self._job_runs or process is None:
            return 0.0
        self._stops += 1
        self._send(do="stop", number=self._stops)
        deadline_s = began_s + self._stop_within_s
        while self._stopped < self._stops and not process.ended:
            left_s = deadline_s - time.perf_counter()
            if left_s <= 0:
                process.kill(self._unconfirmed())
                break
            self._read(left_s)
        took_s = time.perf_counter() - began_s
        self._read(0.0)
        if self._job_runs:
            self._job_runs = False
            self._events.append(self._unfinished(process))
        return took_s

    def _unfinished(self, process: WorkerProcess) -> Failed:
        """How a job ended whose worker did not tell its result."""
        reason = process.left_behind or (
            self._unconfirmed() if process.killed else process.how_it_ended()
        )
        if process.says_card_is_lost():
            return Failed(EngineReason.CARD_LOST(how=reason), True)
        return Failed(reason)

    def _unconfirmed(self) -> Reason:
        return WorkerReason.STOP_UNCONFIRMED(seconds=self._stop_within_s)

    def close(self) -> None:
        """Stop, and end the worker process; raises WorkerSilent for one that cannot be killed."""
        process = self._process
        if process is None:
            return
        self.stop()
        process.end()
        self._process = None
        if (left := process.still_left_behind()) is not None:
            raise WorkerSilent(left)

    def __enter__(self) -> WorkerEngine:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _start(self) -> EngineDescription:
        process = self._process = WorkerProcess(self._arguments)
        deadline_s = time.monotonic() + READY_WITHIN_S
        while (left_s := deadline_s - time.monotonic()) > 0:
            for message in process.messages(min(left_s, 0.2)):
                if message["is"] == "ready":
                    found = wire.unpacked(message["description"])
                    assert isinstance(found, EngineDescription)
                    process.started()
                    return replace(found, why=self._both(found.why))
                self.close()
                raise EngineUnavailable(_why_refused(message))
            if process.ended:
                words = process.last_words()
                how = WorkerReason.SAID(words=words) if words else process.why_it_ended()
                self._forget()
                raise EngineUnavailable(WorkerReason.NOT_STARTED(how=how))
            if (stopped := process.stopped()) is not None:
                process.kill(stopped)
                self._forget()
                raise EngineUnavailable(WorkerReason.NOT_STARTED(how=stopped))
        process.kill(WorkerReason.NOT_READY_IN_TIME(seconds=READY_WITHIN_S))
        self._forget()
        raise EngineUnavailable(WorkerReason.NOT_READY_IN_TIME(seconds=READY_WITHIN_S))

    def _both(self, opened: Note | Reason) -> Note | Reason:
        """Why this engine was chosen, and why it opened this card."""
        if self._why is None:
            return opened
        return EngineNote.CHOSEN_AND_OPENED(chosen=self._why, opened=opened)

    def _send(self, **message: object) -> None:
        if self._process is not None:
            self._process.send(**message)

    def _read(self, wait_s: float) -> None:
        for message in self._process.messages(wait_s) if self._process is not None else ():
            if message["is"] == "stopped":
                self._stopped = int(message["number"])
            elif message["is"] == "event":
                event = wire.unpacked(message["event"])
                self._events.append(event)
                if isinstance(event, LAST_EVENTS):
                    self._job_runs = False

    def _forget(self) -> None:
        if self._process is not None:
            self._process.forget()
        self._process = None


def _why_refused(message: Mapping[str, object]) -> Reason:
    told = message.get("reason")
    if isinstance(told, dict) and told.get("code"):
        return Reason.from_plain(told)
    return WorkerReason.REFUSED()
