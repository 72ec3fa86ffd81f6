"""The worker process: takes jobs from its standard input, works the card, tells what it found.

Run as ``python -m burnin.engine.process.worker`` by `worker_engine`. One thread listens and keeps
the dead-man switch, the main thread works. Whatever else writes to standard output goes to standard
error, so that the protocol stays clean.
"""

from __future__ import annotations

import argparse
import os
import queue
import select
import signal
import sys
import threading
from collections.abc import Callable
from typing import Any

from burnin.core import seams
from burnin.core.errors import BadInput, DeviceLost, EngineUnavailable, ReasonedError
from burnin.engine.device.device import Device
from burnin.engine.job import ArithmeticLoad, Failed, Job, LinkTraffic, MemoryTest, WorkEvent
from burnin.engine.kind import CardWanted, EngineKind
from burnin.engine.meanings import EngineReason
from burnin.engine.process import exit_codes, wire
from burnin.engine.process.dead_man_switch import DeadManSwitch
from burnin.engine.work import Emit, LoadShare, Work

WATCH_EVERY_S = 0.05
PR_SET_PDEATHSIG = 1
"""linux/prctl.h: the kernel sends this signal when the parent thread dies."""


class Worker:
    """One card, one pipe, one job at a time."""

    def __init__(self, listen_fd: int, tell_fd: int) -> None:
        self._listen_fd = listen_fd
        self._tell_fd = tell_fd
        self._telling = threading.Lock()
        self._switch = DeadManSwitch()
        self._share = LoadShare(1.0)
        self._orders: queue.SimpleQueue[dict[str, Any]] = queue.SimpleQueue()

    def tell(self, **message: Any) -> None:
        """Write one message; ends the process when nobody reads any more."""
        data = wire.line(message)
        with self._telling:
            try:
                while data:
                    data = data[os.write(self._tell_fd, data) :]
            except OSError:
                os._exit(exit_codes.NOBODY_READS)

    def run(self, open_device: Callable[[], Device]) -> None:
        """Open the card, say so, and carry out orders until told to end."""
        threading.Thread(target=self._listen, name="listen", daemon=True).start()
        try:
            device = open_device()
        except ReasonedError as error:
            self.tell(**{"is": "refused", "reason": error.reason.as_plain()})
            return
        self.tell(**{"is": "ready", "description": device.description()})
        while True:
            order = self._orders.get()
            if order["do"] == "begin":
                self._carry_out(device, wire.unpacked(order["job"]))
            elif order["do"] == "stop":
                self.tell(**{"is": "stopped", "number": order["number"]})
            else:
                break
        device.close()

    def _carry_out(self, device: Device, job: Job) -> None:
        try:
            work = started(device, job, self._share, self._emit)
        except ReasonedError as error:
            self._end_job(_failed(error))
            return
        except MemoryError:
            self._end_job(Failed(EngineReason.BENCH_MEMORY_FULL()))
            return
        try:
            self._work(work)
            result: WorkEvent = work.result()
        except ReasonedError as error:
            result = _failed(error)
        self._end_job(result)
        work.release()

    def _work(self, work: Work) -> None:
        slices = work.slices()
        try:
            for rest_s in slices:
                self._switch.working(False)
                if not self._switch.may_go_on(rest_s):
                    break
                self._switch.working(True)
        finally:
            slices.close()  # type: ignore[attr-defined]  # a generator: waits for what is queued

    def _end_job(self, result: WorkEvent) -> None:
        """Tell the result and acknowledge a stop before memory is given back."""
        self._switch.job_ended()
        self._emit(result)
        while True:
            try:
                order = self._orders.get_nowait()
            except queue.Empty:
                return
            if order["do"] == "stop":
                self.tell(**{"is": "stopped", "number": order["number"]})
            else:
                self._orders.put(order)
                return

    def _emit(self, event: WorkEvent) -> None:
        self.tell(**{"is": "event", "event": event})

    def _listen(self) -> None:
        """Read orders; end the process when the pipe closes, beats stay away or the card hangs."""
        unread = b""
        while True:
            ready, _, _ = select.select([self._listen_fd], [], [], WATCH_EVERY_S)
            if ready:
                chunk = os.read(self._listen_fd, 65536)
                if not chunk:
                    os._exit(0)  # the supervisor is gone: nothing more is queued
                *lines, unread = (unread + chunk).split(b"\n")
                for text in lines:
                    self._hear(wire.message(text))
            if self._switch.must_end():
                os._exit(exit_codes.NO_HEARTBEAT)
            if self._switch.stuck():
                stuck = exit_codes.why_ended(exit_codes.SLICE_STUCK)
                self._emit(Failed(EngineReason.CARD_LOST(how=stuck), True))
                os._exit(exit_codes.SLICE_STUCK)

    def _hear(self, order: dict[str, Any]) -> None:
        match order.get("do"):
            case "beat":
                self._switch.beat()
            case "share":
                self._share.set(float(order["share"]))
            case "begin":
                self._switch.job_begins()
                self._orders.put(order)
            case "stop":
                self._switch.stop()
                self._orders.put(order)
            case _:
                self._switch.stop()
                self._orders.put({"do": "end"})


def started(device: Device, job: Job, share: LoadShare, emit: Emit) -> Work:
    """The job's work on the device, memory taken, nothing queued yet."""
    if isinstance(job, ArithmeticLoad):
        from burnin.engine.compute.arithmetic_load import ArithmeticWork

        return ArithmeticWork(device, job, share, emit)
    if isinstance(job, MemoryTest):
        from burnin.engine.memory.memory_work import MemoryWork

        return MemoryWork(device, job, emit)
    if isinstance(job, LinkTraffic):
        from burnin.engine.link_traffic import TrafficWork

        return TrafficWork(device, job, emit)
    from burnin.engine.compute.compute_work import ComputeWork

    return ComputeWork(device, job, emit)


def die_with_parent(parent_pid: int) -> None:
    """Ask the kernel to kill this process when the parent dies; ends at once if it already has."""
    if not sys.platform.startswith("linux"):
        return
    import ctypes

    ctypes.CDLL(None, use_errno=True).prctl(PR_SET_PDEATHSIG, int(signal.SIGKILL), 0, 0, 0)
    if os.getppid() != parent_pid:
        os._exit(0)


def _failed(error: ReasonedError) -> Failed:
    return Failed(error.reason, isinstance(error, DeviceLost))


def open_device(engine: str, wanted: CardWanted) -> Device:
    """The card, opened by a registered engine; raises EngineUnavailable."""
    try:
        kind = seams.member("engines", engine)
    except BadInput as error:
        raise EngineUnavailable(EngineReason.NOT_LOADED(words=str(error))) from error
    if not isinstance(kind, EngineKind) or kind.open_device is None:
        raise EngineUnavailable(EngineReason.NO_WORKER(engine=engine))
    return kind.open_device(wanted)


def main(arguments: list[str] | None = None) -> None:
    """Entry point of the process."""
    parser = argparse.ArgumentParser(prog="burnin.engine.process.worker")
    parser.add_argument("--engine", required=True)
    parser.add_argument("--parent", type=int, required=True)
    parser.add_argument("--vendor", type=lambda text: int(text, 16), default=0)
    parser.add_argument("--device", type=lambda text: int(text, 16), default=0)
    parser.add_argument("--address", default="")
    parser.add_argument("--among-alike", type=int, default=0)
    parser.add_argument("--software", action="store_true")
    options = parser.parse_args(arguments)
    die_with_parent(options.parent)
    tell_fd = os.dup(1)
    os.dup2(2, 1)
    wanted = CardWanted(
        options.address, options.vendor, options.device, options.among_alike, options.software
    )
    Worker(0, tell_fd).run(lambda: open_device(options.engine, wanted))


if __name__ == "__main__":
    main()
