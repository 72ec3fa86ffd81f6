"""The word of a closed record as a sheet prints it; of a long record made in a process of its own.

To look a record over takes all of it into memory. One of hours would make the page large and slow,
so that another process reads it, says the word and is gone.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
from pathlib import Path

from burnin.core.errors import BurninError
from burnin.core.meaning import Meaning
from burnin.core.verdict import RunVerdict
from burnin.page.terms import PageReason
from burnin.record.reader import read_record
from burnin.record.schema.tables import JOURNAL, SAMPLES
from burnin.report.sheet.printed_verdict import printed_verdict
from burnin.report.sheet.run_stages import run_stages

Judged = tuple[RunVerdict, Meaning]
MOST_HERE_BYTES = 8 << 20
"""Three quarters of an hour at 20 Hz: read in this process within a second."""


class Judging:
    """Of one record; `look` gives its word once it is known."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._apart: subprocess.Popen[str] | None = None

    def look(self) -> Judged | None:
        """The word, None while it is being made."""
        if self._apart is None:
            if _bytes(self._folder) <= MOST_HERE_BYTES:
                return judged(self._folder)
            self._apart = subprocess.Popen(
                [sys.executable, "-m", "burnin.page.judging", str(self._folder)],
                stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
                text=True,
            )  # fmt: skip
        if self._apart.poll() is None:
            return None
        assert self._apart.stdout is not None
        found = _judged_of(self._apart.stdout.read())
        self.end()
        return found

    def void(self) -> None:
        """The run goes on: what was begun to be looked over is another record."""
        self.end()

    def end(self) -> None:
        """Nobody waits for the word any more."""
        if self._apart is not None:
            self._apart.kill()
            with self._apart:
                self._apart = None


def judged(folder: Path) -> Judged:
    """Verdict and reason as a sheet would print them; of a record that cannot be read, why."""
    try:
        record = read_record(folder)
        return printed_verdict(record, run_stages(record))
    except BurninError as error:
        return RunVerdict.INCOMPLETE, PageReason.UNREADABLE(words=error.told)
    except Exception as error:  # whatever the record holds, the page goes on and names it
        words = f"{type(error).__name__}: {error}"
        return RunVerdict.INCOMPLETE, PageReason.UNREADABLE(words=words)


def _bytes(folder: Path) -> int:
    found = 0
    for name in (JOURNAL, SAMPLES):
        try:
            found += (folder / name).stat().st_size
        except OSError:
            continue
    return found


def _judged_of(line: str) -> Judged:
    try:
        told = json.loads(line)
        return RunVerdict(told["verdict"]), Meaning.from_plain(told["reason"])
    except (ValueError, KeyError, TypeError):
        return RunVerdict.INCOMPLETE, PageReason.NOT_LOOKED_OVER()


def _end_with_page() -> None:
    """Wait for the end of the page, which holds the other end of the input, and end too."""
    while os.read(0, 1):
        continue
    os._exit(1)


if __name__ == "__main__":
    threading.Thread(target=_end_with_page, daemon=True).start()
    verdict, reason = judged(Path(sys.argv[1]))
    sys.stdout.write(json.dumps({"verdict": verdict, "reason": reason.as_plain()}) + "\n")
