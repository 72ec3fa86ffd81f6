"""What to type after a run, by how it ended."""

from __future__ import annotations

from pathlib import Path

from burnin.core.verdict import Ended, RunVerdict, VerdictReason
from burnin.run.plan import RunOutcome

_BLAMED = VerdictReason.NOT_THE_CARD_ALONE
_TO_EXPLAIN = (RunVerdict.FAIL, RunVerdict.ABORTED)


def next_command(outcome: RunOutcome, ticket: str, results: Path) -> str:
    """The command that goes on from here; empty where nothing needs one.

    `ticket` is the number of the run's ticket, empty without one; its records lie in `results`.
    """
    at = "" if results == Path("results") else f" --results {results}"
    if outcome.ended in (Ended.STOPPED_BY_HAND, Ended.FAILED):
        return f"burnin run --resume {outcome.folder}"
    if outcome.verdict in _TO_EXPLAIN or outcome.reason.means(_BLAMED):
        return f"burnin explain {outcome.folder}"
    if ticket and outcome.verdict is RunVerdict.PASS:
        return f"burnin handover {ticket}{at}"
    if ticket:
        return f"burnin ticket show {ticket}{at}"
    return ""
