"""The worker process: takes jobs from its standard input, works the card, tells what it found.

Run as ``python -m burnin.engine.process.worker`` by `worker_engine`. One thread listens, keeps the
dead-man switch and tells while a job runs that it is alive; the main thread works. Whatever else
writes to standard output goes to standard error, so that the protocol stays clean.
"""

from __future__ import annotations

import argparse
import os
import queue
import sys
import threading
import time
from collections.abc import Callable
from typing import Any

from burnin.core.errors import DeviceLost, ReasonedError
from burnin.engine.device.device import Device
from burnin.engine.device.meanings import PreparingReason
from burnin.engine.device.preparing import Preparing, StoppedBeforeLoad
from burnin.engine.device.slices import Pipeline
from burnin.engine.job import Failed, Job, WorkEvent
from burnin.engine.kind import CardWanted
from burnin.engine.meanings import EngineReason
from burnin.engine.process import exit_codes, wire
from burnin.engine.process.dead_man_switch import DeadManSwitch, Stuck
from burnin.engine.process.kernel_bounds import LastResort, die_with_parent
from burnin.engine.process.open_device import open_device
from burnin.engine.process.ready import ready_to_read, ready_to_write
from burnin.engine.process.slice_log import SliceLog
from burnin.engine.process.started import started
from burnin.engine.process.where_asked import tell_where_asked
from burnin.engine.work import LoadShare, Work

WATCH_EVERY_S = 0.05
SWITCH_EVERY_S = 0.0005
"""Longest that the working thread keeps the interpreter from the one that listens, which has to
ask for it after each read and write: the usual 5 ms would be waited for several times a stop."""
KEPT_WAITING_S = 0.005
"""A slice that may begin so much later than it asked for: meanwhile nobody saw others end."""
_LAST_WORDS_S = 0.2
"""Longest that a worker which must end waits until its reason can be told."""


class Worker:
    """One card, one pipe, one job at a time."""

    def __init__(self, listen_fd: int, tell_fd: int) -> None:
        self._listen_fd, self._tell_fd = listen_fd, tell_fd
        self._telling = threading.Lock()
        self._switch = DeadManSwitch()
        self._last_resort, self._arming = LastResort(), threading.Lock()
        self._slice_log = SliceLog()
        Pipeline.on_wait = staticmethod(self._switch.waits)
        self._ending = threading.Lock()
        Preparing.on_idle = staticmethod(lambda idle: self._unless_over(self._switch.idles(idle)))
        Preparing.on_queue = staticmethod(lambda: self._unless_over(self._switch.may_queue()))
        self._told_alive_s = 0.0
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
        sys.setswitchinterval(SWITCH_EVERY_S)
        threading.Thread(target=self._listen, name="listen", daemon=True).start()
        try:
            device = open_device()
        except ReasonedError as error:
            self.tell(**{"is": "refused", "reason": error.reason.as_plain()})
            return
        described = device.description()
        self._switch.software = not described.works_card
        self.tell(**{"is": "ready", "description": described})
        while True:
            order = self._orders.get()
            if order["do"] == "begin":
                self._carry_out(device, wire.unpacked(order["job"]), order["number"])
            elif order["do"] == "end":
                break
        device.close()

    def _carry_out(self, device: Device, job: Job, number: int) -> None:
        if not self._switch.job_taken(number):
            return
        try:
            work = started(device, job, self._share, self._emit)
        except ReasonedError as error:
            # told in here: what was taken is given back when the error is let go of
            self._end_unstarted(_failed(error))
            return
        except MemoryError:
            self._end_unstarted(Failed(EngineReason.BENCH_MEMORY_FULL()))
            return
        if not self._switch.prepared():  # stopped at the very last
            work.release()
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
                asked_s = time.perf_counter()
                if not self._switch.may_go_on(rest_s):
                    break
                if time.perf_counter() - asked_s > rest_s + KEPT_WAITING_S:
                    work.paused()
                self._switch.slice_begins()
                self._slice_log.begun(self._switch.beat_s)
        finally:
            slices.close()  # type: ignore[attr-defined]  # a generator: waits for what is queued

    def _unless_over(self, goes_on: bool) -> None:
        """While a job prepares: a stop is confirmed here where nobody could when it was heard."""
        if goes_on:
            return
        reason = PreparingReason.STOPPED()
        with self._ending:
            if self._switch.ends_before_load():
                self._tell_end(Failed(reason))
        raise StoppedBeforeLoad(reason)

    def _end_unstarted(self, failed: Failed) -> None:
        if self._switch.prepared():  # else its end was told when it was stopped
            self._end_job(failed)

    def _end_job(self, result: WorkEvent) -> None:
        """Tell the result and acknowledge a stop before memory is given back."""
        with self._ending:
            self._switch.job_ended()
            self._tell_end(result)

    def _tell_end(self, result: WorkEvent) -> None:
        with self._arming:
            self._last_resort.call_off()
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
            if ready_to_read(self._listen_fd, WATCH_EVERY_S):
                chunk = os.read(self._listen_fd, 65536)
                if not chunk:
                    os._exit(0)  # the supervisor is gone: nothing more is queued
                *lines, unread = (unread + chunk).split(b"\n")
                for text in lines:
                    self._hear(wire.message(text))
            self._tell_alive()
            if self._switch.must_end():
                os._exit(exit_codes.NO_HEARTBEAT)
            if (stuck := self._switch.stuck()) is not None:
                self._leave(stuck)

    def _leave(self, stuck: Stuck) -> None:
        """End the process, whose working thread nothing else can reach."""
        code = exit_codes.SLICE_STUCK if stuck is Stuck.CARD else exit_codes.WORK_STUCK
        why, lost = exit_codes.why_ended(code), stuck is Stuck.CARD
        failed = Failed(EngineReason.CARD_LOST(how=why) if lost else why, lost)
        self._tell_at_once(_LAST_WORDS_S, **{"is": "event", "event": failed})
        os._exit(code)

    def _tell_alive(self) -> None:
        """While a job runs: how many slices were begun. Silence would mean that this hangs."""
        now_s = time.monotonic()
        if self._switch.running and now_s - self._told_alive_s >= WATCH_EVERY_S:
            self._told_alive_s = now_s
            self._tell_at_once(0.0, **{"is": "alive", "slices": self._switch.slices})

    def _tell_at_once(self, within_s: float, **message: Any) -> None:
        """Write one message, or leave it where that would wait: nobody reads, or others write.

        A pipe that can be written to takes a short message whole (POSIX, PIPE_BUF).
        """
        if not self._telling.acquire(timeout=within_s):
            return
        try:
            if ready_to_write(self._tell_fd, within_s):
                os.write(self._tell_fd, wire.line(message))
        except OSError:
            os._exit(exit_codes.NOBODY_READS)
        finally:
            self._telling.release()

    def _hear(self, order: dict[str, Any]) -> None:
        match order.get("do"):
            case "beat":
                self._switch.beat(order.get("sent_s"))
                self._put_off()
            case "share":
                self._share.set(float(order["share"]))
            case "power":
                self._share.power_w = float(order["power_w"])
            case "begin":
                number = self._switch.job_begins()
                self._put_off()
                self._orders.put({**order, "number": number})
            case "stop":
                self._hear_stop(order)
            case _:
                self._switch.stop()
                self._orders.put({"do": "end"})

    def _hear_stop(self, order: dict[str, Any]) -> None:
        """Confirm it here unless work is under way, which the working thread ends first."""
        with self._ending:
            if self._switch.stop_before_load():
                with self._arming:
                    self._last_resort.call_off()
                self._emit(Failed(PreparingReason.STOPPED()))
            elif self._switch.running:
                self._orders.put(order)
                self._switch.stop()
                return
            # else its end is told already, though its memory may still be given back
            self.tell(**{"is": "stopped", "number": order["number"]})

    def _put_off(self) -> None:
        """The kernel's own deadline follows the beats of a job that runs."""
        with self._arming:
            if self._switch.running:
                self._last_resort.put_off(self._switch.beat_s)


def _failed(error: ReasonedError) -> Failed:
    return Failed(error.reason, isinstance(error, DeviceLost))


def main(arguments: list[str] | None = None) -> None:
    """Entry point of the process."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--engine", required=True)
    parser.add_argument("--parent", type=int, required=True)
    for number in ("--vendor", "--device"):
        parser.add_argument(number, type=lambda text: int(text, 16), default=0)
    parser.add_argument("--address", default="")
    parser.add_argument("--among-alike", type=int, default=0)
    parser.add_argument("--software", action="store_true")
    options = parser.parse_args(arguments)
    die_with_parent(options.parent)
    tell_where_asked()
    tell_fd, _ = os.dup(1), os.dup2(2, 1)
    wanted = CardWanted(
        options.address, options.vendor, options.device, options.among_alike, options.software
    )
    Worker(0, tell_fd).run(lambda: open_device(options.engine, wanted))


if __name__ == "__main__":
    main()
