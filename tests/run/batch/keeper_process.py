"""A keeper in a process of its own, for tests that end it."""

from __future__ import annotations

import json
import sys
from pathlib import Path

from burnin.cli.stop_signals import StopAsked
from burnin.run.batch.budget import Budget
from tests.run.batch.batches import Seen, Setting, keeper_of

if __name__ == "__main__":
    results, bench, profile = sys.argv[1:]

    def tell(member: object) -> None:
        """Each change of a card on a line: who watches it acts on that."""
        shows = getattr(member, "shows", None)
        told = {
            "pid": getattr(member, "pid", 0),
            "ready": getattr(member, "may_begin", False),
            "stage": shows.kind if shows is not None else "",
        }
        sys.stdout.write(json.dumps(told) + "\n")
        sys.stdout.flush()

    with StopAsked() as stop:
        setting = Setting(Path(results), bench, profile, Budget(400.0), pace=1.0)
        keeper_of(setting, Seen(tell), stop_asked=stop.number).run()
