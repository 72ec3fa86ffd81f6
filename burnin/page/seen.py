"""What the page shows at one moment: which record, how far its run is, what it tells so far."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path

from burnin.core.meaning import Meaning, Value
from burnin.core.verdict import RunVerdict
from burnin.page.curves import Curves
from burnin.page.run_so_far import CURVES, RunSoFar


class Phase(StrEnum):
    """How far the run is that the page shows."""

    NONE = "none"
    RUNNING = "running"
    STOPPING = "stopping"
    CUT_OFF = "cut off"
    FINISHED = "finished"


@dataclass
class Seen:
    """What is shown at the moment; `revision` rises with each change, `epoch` tells records apart.

    `looked`: somebody has looked at the record, so that there is something to show.

    `curves` are of all that was read of the record, also while `so_far` is of its end alone;
    `read_share` is how much that is. `judged`: verdict and reason of a run that is closed, once its
    record was looked over.
    """

    folder: Path | None = None
    looked: bool = False
    so_far: RunSoFar = field(default_factory=RunSoFar)
    curves: Curves = field(default_factory=lambda: Curves(CURVES))
    read_share: float = 1.0
    phase: Phase = Phase.NONE
    judged: tuple[RunVerdict, Meaning] | None = None
    quiet_s: float = 0.0
    unreadable: Value = ""
    epoch: str = ""
    revision: int = 0
