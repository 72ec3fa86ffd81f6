"""Tells the keeper of a batch how a card's run does, and every second that its process lives."""

from __future__ import annotations

import threading
from dataclasses import replace

from burnin.core.events import Event, RunStarted, SampleTaken, StageFinished, StageStarted
from burnin.core.reading import known
from burnin.core.verdict import WHOLE_RUN, StageVerdict
from burnin.run.leave.letters import Shows
from burnin.run.leave.of_batch import OfBatch

_EVERY_S = 1.0
_BAD = (StageVerdict.FAIL, StageVerdict.ABORTED)


class TellsKeeper:
    """A sink of the run's events, and a thread that sends what they come to."""

    name = "batch"

    def __init__(self, keeper: OfBatch) -> None:
        self._keeper = keeper
        self._shows = Shows("", "", 0, 0, 0, None, None)
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._tell, name="tells keeper", daemon=True)
        self._thread.start()

    def __call__(self, event: Event) -> None:
        """Take one event."""
        now = self._shows
        match event:
            case RunStarted():
                self._shows = replace(now, stages_count=len(event.stages))
            case StageStarted():
                self._shows = replace(now, kind=event.kind, own_title=event.own_title)
            case StageFinished():
                done = now.done_count + int(event.kind != WHOLE_RUN)
                bad = now.bad_count + int(event.verdict in _BAD)
                self._shows = replace(now, done_count=done, bad_count=bad)
            case SampleTaken(sample):
                told = sample.telemetry
                power_w, temp_c = known(told.power_w), known(told.gpu_temp_c)
                self._shows = replace(now, power_w=power_w, gpu_temp_c=temp_c)
            case _:
                pass

    def close(self) -> None:
        """The run is over; its process lives on until its sheet is made."""

    def end(self) -> None:
        """Nothing more is told."""
        self._ended.set()
        self._thread.join(_EVERY_S)

    def _tell(self) -> None:
        while not self._ended.wait(_EVERY_S):
            self._keeper.tell(self._shows)
