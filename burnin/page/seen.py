"""What the page shows at one moment: which record, how far its run is, what it tells so far."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path

from burnin.core.meaning import Meaning, Value
from burnin.core.verdict import RunVerdict
from burnin.page.run_so_far import RunSoFar


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

    `judged`: verdict and reason of a run that is closed, once its record was looked over.
    """

    folder: Path | None = None
    so_far: RunSoFar = field(default_factory=RunSoFar)
    phase: Phase = Phase.NONE
    judged: tuple[RunVerdict, Meaning] | None = None
    quiet_s: float = 0.0
    unreadable: Value = ""
    epoch: str = ""
    revision: int = 0
