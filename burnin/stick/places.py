"""Where the running stick keeps what: told by its services in the surroundings of each program."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from burnin.core.errors import BadInput
from burnin.core.files.whole_lock import lock_alone
from burnin.stick.refusals import StickRefusal
from burnin.stick.tools import carry_out

JOURNAL, RECORDS, NOW = "BURNIN_STICK_JOURNAL", "BURNIN_STICK_RECORDS", "BURNIN_STICK_NOW"
_LOOK_AGAIN_S = 0.2
KEEP, KEYBOARDS = "BURNIN_STICK_KEEP", "BURNIN_STICK_KEYBOARDS"


@dataclass(frozen=True)
class Places:
    """`now`: what lasts until the power goes; `keep`: the program that mounts the records."""

    journal: Path
    records: Path
    now: Path
    keep: Path
    keyboards: Path

    @property
    def results(self) -> Path:
        """Where tickets and records are kept while they grow."""
        return self.journal / "results"

    @property
    def shop(self) -> Path:
        """Where the shop's file and key lie."""
        return self.journal / "shop"

    @contextmanager
    def records_open(self) -> Iterator[Path]:
        """The records partition, mounted for as long as this lasts."""
        with (self.now / "records.lock").open("wb") as lock:
            _wait_for(lock.fileno())
            carry_out([self.keep, "open"])
            try:
                yield self.records
            finally:
                carry_out([self.keep, "close"])


def _wait_for(handle: int) -> None:
    """Screen and serial port have a desk each: one copies at a time."""
    while True:
        try:
            return lock_alone(handle)
        except BlockingIOError:
            time.sleep(_LOOK_AGAIN_S)


def places() -> Places:
    """Raises BadInput where this is not a running stick."""
    try:
        names = (JOURNAL, RECORDS, NOW, KEEP, KEYBOARDS)
        return Places(*(Path(os.environ[name]) for name in names))
    except KeyError:
        raise BadInput(StickRefusal.NOT_ON_STICK()) from None


def set_keyboard(of: Places, layout: str) -> bool:
    """Give the console this layout; False where that cannot be done (on a serial line)."""
    file = of.keyboards / f"{layout}.map.gz"
    try:
        carry_out(["loadkeys", "--quiet", file])
    except BadInput:
        return False
    return True
