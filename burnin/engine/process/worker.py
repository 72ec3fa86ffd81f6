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

from burnin.core.errors import BurninError, DeviceLost
from burnin.engine.device.device import Device
from burnin.engine.job import ArithmeticLoad, Failed, Job, LinkTraffic, MemoryTest, WorkEvent
from burnin.engine.process import wire
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
                os._exit(3)

    def run(self, open_device: Callable[[], Device]) -> None:
        """Open the card, say so, and carry out orders until told to end."""
        threading.Thread(target=self._listen, name="listen", daemon=True).start()
        try:
            device = open_device()
        except BurninError as error:
            self.tell(**{"is": "refused", "reason": str(error)})
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
        except DeviceLost as error:
            self._end_job(Failed(str(error), True))
            return
        except (BurninError, MemoryError) as error:
            self._end_job(Failed(str(error)))
            return
        try:
            self._work(work)
            result: WorkEvent = work.result()
        except DeviceLost as error:
            result = Failed(str(error), True)
        except BurninError as error:
            result = Failed(str(error))
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
            why = self._switch.must_end()
            if why:
                print(f"worker ends: {why}", file=sys.stderr, flush=True)
                os._exit(4)
            if self._switch.stuck():
                self._emit(Failed("the card stopped answering: a slice did not end", True))
                os._exit(5)

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


def _open(options: argparse.Namespace) -> Device:
    if options.engine == "cuda":
        from burnin.engine.cuda.device import open_cuda

        return open_cuda(options.address)
    from burnin.engine.vulkan.adapters import choose, vulkan_adapters
    from burnin.engine.vulkan.device import VulkanDevice

    choice = choose(
        vulkan_adapters(), options.vendor, options.device,
        software=options.software, among_alike=options.among_alike,
    )
    return VulkanDevice(choice)


def main(arguments: list[str] | None = None) -> None:
    """Entry point of the process."""
    parser = argparse.ArgumentParser(prog="burnin.engine.process.worker")
    parser.add_argument("--engine", choices=("vulkan", "cuda"), required=True)
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
    Worker(0, tell_fd).run(lambda: _open(options))


if __name__ == "__main__":
    main()
