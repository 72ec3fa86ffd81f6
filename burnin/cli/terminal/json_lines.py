"""A run's events as JSON, one a line, for a machine to read: codes with data, no sentences."""

from __future__ import annotations

import json
import sys

from burnin.cli.terminal.output import quiet_output
from burnin.core.events import Event, RunFinished, RunStarted
from burnin.core.plain import plain
from burnin.core.verdict import shown


class JsonLines:
    """Writes each event to standard output as it comes.

    The end of a run gets its `word` too: a simulated run's is its own.
    """

    name = "json lines"

    def __init__(self) -> None:
        self._simulated = False

    def __call__(self, event: Event) -> None:
        """Write one event; raises OSError where nobody reads any more."""
        detail = plain(event)
        assert isinstance(detail, dict)
        if isinstance(event, RunStarted):
            self._simulated = event.opening.simulated
            detail["simulated"] = self._simulated
        if isinstance(event, RunFinished):
            detail["simulated"] = self._simulated
            detail["word"] = shown(event.verdict, simulated=self._simulated)
        line = json.dumps({"event": type(event).__name__, **detail}, ensure_ascii=False)
        try:
            sys.stdout.write(f"{line}\n")
            sys.stdout.flush()
        except OSError:
            quiet_output()
            raise

    def close(self) -> None:
        """Nothing to close: standard output is not ours."""
