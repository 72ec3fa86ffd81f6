"""The parts of a card that work at once: what each does, and how much of it was wrong."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass, field, replace
from typing import Any, Protocol

from burnin.core.meaning import Term
from burnin.engine.compute.compute_work import ComputeWork
from burnin.engine.device.device import Device, WorksBeside
from burnin.engine.device.slices import Pipeline, Scale
from burnin.engine.device.units import ComparesResults
from burnin.engine.job import (
    AllAtOnce,
    FailingWord,
    LinkTraffic,
    RepeatedCompute,
    WorkEvent,
)
from burnin.engine.link_traffic import TrafficWork
from burnin.engine.meanings import EngineTerm
from burnin.engine.memory.memory_work import MemoryWork
from burnin.engine.together.checked_load import CheckedLoad
from burnin.engine.work import Emit, LoadShare, Work

WITHOUT_END = math.inf
PASSES_WITHOUT_END = 1 << 30
BY_TURNS = {"compute": 0.88, "memory": 0.06, "link": 0.06}
"""Shares of the time where one queue holds the slices of all: memory and link alone draw much less
than arithmetic, and with more of the time for them a card is far from its power limit (measured:
0.48 of it with a third each, 0.70 with a fifth each for memory and link)."""
NEVER_HELD_BACK = 0.5
BESIDE = {"compute": 1.0, "memory": 0.05, "link": 1.0}
"""The same where all run side by side: copies need no arithmetic units, but memory patterns take
them from the arithmetic (measured: 0.79 of the limit with as much of both)."""
SLOWEST, FASTEST = 0.5, 1.1
"""Most by which slices shrink or grow from one to the next."""
LEAST_PART = 1 / 64
FIRST_BESIDE = {"compute": 0.75, "memory": 0.25, "link": 0.75}
"""Parts of whole slices to begin with side by side: arithmetic holds memory patterns up."""
SEEN_ENDS = 8
"""Slices of a part whose ends are seen before its next ones shrink or grow side by side."""


class SharedWork(Work, Protocol):
    """Work that shares a card: whoever lets it take turns sees what it has queued."""

    @property
    def pipeline(self) -> Pipeline[Any]:
        """Slices that are queued."""
        ...


@dataclass
class Part:
    """One part: its work, its slices, `done` operations or bytes, `wrong` results so far.

    `weight` is its share of the time beside the others, `credit_s` what it is owed of it: a part
    whose smallest slice is long has its turn less often. `gauged`: whether it has worked alone for
    long enough to know how much fits into a slice. `due_s` is when its next slice may begin.
    """

    name: str
    title: Term
    work: SharedWork
    scale: Scale
    done: Callable[[], float]
    wrong: Callable[[], int]
    gauged: Callable[[], bool] = lambda: True
    weight: float = 1.0
    credit_s: float = 0.0
    charged: float = 0.0
    due_s: float = 0.0
    told_wrong: int = 0
    alone_per_s: float = 0.0
    lasted_s: list[float] = field(default_factory=list)
    slices: Iterator[float] = field(init=False)

    def __post_init__(self) -> None:
        self.slices = self.work.slices()

    def earn(self, elapsed_s: float, turn_s: float) -> None:
        """More time has passed; what was done in it is paid by its time alone."""
        done = self.done()
        spent_s = (done - self.charged) / self.alone_per_s if self.alone_per_s else 0.0
        self.charged = done
        self.credit_s = min(2.0 * turn_s, self.credit_s + self.weight * elapsed_s - spent_s)

    def has_room(self, turn_s: float) -> bool:
        """Take in what is done; a slice beside others is to last a turn, however slow they make it.

        Its end is seen only when this is called, so that the shortest of several counts. Whether
        one more may be queued.
        """
        room = self.work.pipeline.has_room()
        last_s, self.work.pipeline.last_slice_s = self.work.pipeline.last_slice_s, math.nan
        if last_s > 0.0:
            self.lasted_s.append(last_s)
        if len(self.lasted_s) >= SEEN_ENDS:
            factor = min(FASTEST, max(SLOWEST, turn_s / min(self.lasted_s)))
            self.scale.part = min(1.0, max(LEAST_PART, self.scale.part * factor))
            self.lasted_s.clear()
        return room

    @property
    def may_begin(self) -> bool:
        """Whether its share is not spent; what is to have most of the time is never held back.

        Its rate alone is taken in a moment, and may be told too low where slices still grew.
        """
        return self.weight >= NEVER_HELD_BACK or self.credit_s >= 0.0

    def new_wrong(self) -> int:
        """Wrong results since the last call."""
        wrong = self.wrong()
        more, self.told_wrong = wrong - self.told_wrong, wrong
        return more


def parts_of(
    device: Device, job: AllAtOnce, share: LoadShare, emit: Emit
) -> tuple[tuple[Part, ...], MemoryWork]:
    """All parts on one card, each beside the others where the API can; memory takes what is left.

    Raises what their works raise; what was taken is given back then.
    """
    scales = {name: Scale() for name in BY_TURNS}
    with ExitStack() as taken:
        compute = _compute(_beside(device), job, share, scales["compute"])
        taken.callback(compute.work.release)
        traffic = TrafficWork(
            _beside(device), LinkTraffic(WITHOUT_END), _only_words(emit), scales["link"]
        )
        taken.callback(traffic.release)
        test = replace(job.memory, passes=PASSES_WITHOUT_END, duty=1.0)
        memory = MemoryWork(_beside(device), test, _only_words(emit), scales["memory"])
        taken.pop_all()
    parts = (
        compute,
        Part(
            "memory", EngineTerm.MEMORY(), memory, scales["memory"], lambda: memory.moved_bytes,
            lambda: memory.wrong_words, lambda: memory.passes_done > 0,
        ),
        Part(
            "link", EngineTerm.LINK(), traffic, scales["link"], lambda: traffic.moved_bytes,
            lambda: traffic.wrong_words,
        ),
    )  # fmt: skip
    weights = BESIDE if isinstance(device, WorksBeside) else BY_TURNS
    for part in parts:
        part.weight = weights[part.name]
    return parts, memory


def _compute(device: Device, job: AllAtOnce, share: LoadShare, scale: Scale) -> Part:
    """What draws most power among that whose results are compared."""
    title = EngineTerm.COMPUTE()
    unit = device.arithmetic()
    if isinstance(unit, ComparesResults):
        load = CheckedLoad(unit, share, scale, job.mix)
        return Part(
            "compute", title, load, scale, lambda: load.operations, lambda: load.wrong_results,
            lambda: load.settled,
        )  # fmt: skip
    unit.release()
    repeated = RepeatedCompute(WITHOUT_END, job.seed, plants=job.plants)
    compute = ComputeWork(device, repeated, lambda _: None, scale, heaviest=True)

    def wrong() -> int:
        return compute.mismatches + sum(compute.reference_failures.values())

    return Part("compute", title, compute, scale, lambda: compute.operations, wrong)


def _beside(device: Device) -> Device:
    return device.beside() if isinstance(device, WorksBeside) else device


def _only_words(emit: Emit) -> Emit:
    """What a part tells of itself would be taken for the whole job's; but a wrong word is told."""

    def heard(event: WorkEvent) -> None:
        if isinstance(event, FailingWord):
            emit(event)

    return heard
