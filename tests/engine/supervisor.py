"""A supervisor that works software Vulkan and beats until it is killed; prints its worker's pid."""

from __future__ import annotations

import time

from burnin.engine.job import ArithmeticLoad
from burnin.engine.process.worker_engine import WorkerEngine


def main() -> None:
    engine = WorkerEngine(["--engine", "vulkan", "--software"])
    engine.begin(ArithmeticLoad())
    while not engine.poll():
        engine.beat()
        time.sleep(0.02)
    print(engine.pid, flush=True)
    while True:
        engine.beat()
        engine.poll()
        time.sleep(0.02)


if __name__ == "__main__":
    main()
