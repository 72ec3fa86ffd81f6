"""The real command, carried out again and again in forks of one process, with a fault in each.

`Forks` starts that process (`python -m tests.faults.forked`) and talks to it in JSON lines. A fork
has all modules loaded, so that a run with its sheet takes about a second, and dies alone: by
`SIGKILL` where its fault says so. What the record's writer has returned from is what a guard, a
judge or a prompt may have used; each such event is put on a list beside the results, by a call that
no fault touches.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import warnings
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from functools import partialmethod
from pathlib import Path
from typing import IO, Any

from tests.faults.fault import Fault

ROOT = Path(__file__).parents[2]


@dataclass(frozen=True)
class Asked:
    """One command: its words after ``burnin``, its fault, its account's folder, its output.

    `wall_clock_h`: hours by which the wall clock was set.
    """

    words: tuple[str, ...]
    home: str
    said: str
    fault: Fault | None = None
    used: str = ""
    wall_clock_h: float = 0.0


class Forks:
    """A process that carries commands out in forks of its own, one after another."""

    def __init__(self) -> None:
        self._server = subprocess.Popen(
            [sys.executable, "-m", "tests.faults.forked"],
            cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        )  # fmt: skip

    def carry_out(self, asked: Asked) -> int:
        """Exit code of the command; the negative number of the signal that ended it."""
        assert self._server.stdin is not None
        assert self._server.stdout is not None
        self._server.stdin.write(json.dumps(asdict(asked)) + "\n")
        self._server.stdin.flush()
        return int(self._server.stdout.readline())

    def close(self) -> None:
        """Let the process end."""
        assert self._server.stdin is not None
        assert self._server.stdout is not None
        self._server.stdin.close()
        self._server.wait()
        self._server.stdout.close()

    def __enter__(self) -> Forks:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def _serve(asks: IO[str], answers: IO[str]) -> None:
    _load()
    for line in asks:
        told: dict[str, Any] = json.loads(line)
        fault = Fault(**told.pop("fault")) if told["fault"] else None
        told.pop("fault", None)
        asked = Asked(**told, fault=fault)
        child = os.fork()
        if child == 0:
            _command(asked)
        _, status = os.waitpid(child, 0)
        answers.write(f"{os.waitstatus_to_exitcode(status)}\n")
        answers.flush()


def _load() -> None:
    """All that a run with its sheet loads, before the first fork."""
    import matplotlib.figure  # noqa: F401
    import numpy  # noqa: F401
    import pandas  # noqa: F401
    import plotly.graph_objects  # noqa: F401
    import typst  # noqa: F401

    import burnin.cli.app
    import burnin.cli.session
    import burnin.report.make
    import burnin.run.resume
    import burnin.run.session
    import burnin.sim.bench
    import burnin.ticket.handover.checking  # noqa: F401


def _command(asked: Asked) -> None:
    """Never returns: ends the fork as the command ends."""
    warnings.simplefilter("ignore")
    home = Path(asked.home)
    os.environ.update(
        HOME=str(home), XDG_CONFIG_HOME=str(home / "config"), XDG_STATE_HOME=str(home / "state"),
        XDG_DATA_HOME=str(home / "data"), COLUMNS="200",
    )  # fmt: skip
    output = os.open(asked.said, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o644)
    nothing = os.open(os.devnull, os.O_RDONLY)
    os.dup2(nothing, 0)
    os.dup2(output, 1)
    os.dup2(output, 2)
    code = 70
    try:
        if asked.used:
            from tests.faults.used_events import keep_used

            keep_used(Path(asked.used))
        if asked.fault is not None:
            asked.fault.plant()
        if asked.wall_clock_h:
            _set_wall_clock(asked.wall_clock_h)
        code = _exit_code(asked.words)
    finally:
        for stream in (sys.stdout, sys.stderr):
            stream.flush()
        os._exit(code)


def _set_wall_clock(hours: float) -> None:
    """Every look at the wall clock is so much off, in this process; the other clock is not."""
    from burnin.core.clock import WallClock
    from burnin.sim.clock import SimulatedClock

    for kind in (WallClock, SimulatedClock):
        real = kind.utc
        kind.utc = partialmethod(_stepped, real, timedelta(hours=hours))  # type: ignore[assignment,method-assign]


def _stepped(clock: Any, real: Callable[[Any], datetime], by: timedelta) -> datetime:
    return real(clock) + by


def _exit_code(words: Sequence[str]) -> int:
    from burnin.cli.app import app

    try:
        app(list(words))
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else int(end.code is not None)
    return 0


if __name__ == "__main__":
    _serve(sys.stdin, sys.stdout)
