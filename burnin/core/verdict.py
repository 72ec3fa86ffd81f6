"""From readings to the verdict of a stage, and from stages to the verdict of a run.

A verdict starts as incomplete; only readings that passed make a pass (law 1).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from burnin.core.events import OwedWork
from burnin.core.reading import Reading, Verdict, title_of_reading

EXIT_CODES = {"pass": 0, "fail": 1, "aborted": 3, "conditional": 4}
"""Exit code of `burnin run` by the run's verdict; 2 is wrong use or bad input."""


@dataclass(frozen=True)
class StageOutcome:
    """How a stage ended: pass, fail, aborted, conditional or not measured, and why."""

    stage: str
    kind: str
    title: str
    verdict: str
    reason: str


def stage_verdict(readings: Sequence[Reading]) -> tuple[str, str]:
    """Verdict and reason of a stage that came to its end, from all its readings."""
    failed = [r for r in readings if r.verdict is Verdict.FAIL]
    if failed:
        return "fail", "; ".join(dict.fromkeys(r.reason for r in failed))
    open_ones = [
        r
        for r in readings
        if r.verdict is Verdict.UNSURE or (r.verdict is Verdict.NOT_MEASURED and r.required)
    ]
    passed = any(r.verdict is Verdict.PASS for r in readings)
    if open_ones:
        reasons = (f"{title_of_reading(r.name)}: {r.reason}" for r in open_ones)
        told = "; ".join(dict.fromkeys(reasons))
        return ("conditional" if passed else "not measured"), told
    if passed:
        return "pass", ""
    return "not measured", "no reading of this stage was judged"


def owed_of_stage(outcome: StageOutcome, readings: Sequence[Reading]) -> list[OwedWork]:
    """What a stage leaves to be done: itself, or its readings that are open."""
    if outcome.verdict in ("not measured", "aborted") and not any(
        r.verdict in (Verdict.PASS, Verdict.FAIL) for r in readings
    ):
        return [OwedWork(outcome.stage, outcome.title, outcome.reason)]
    return [
        OwedWork(outcome.stage, f"{outcome.title}: {title_of_reading(r.name)}", r.reason)
        for r in readings
        if r.required and r.verdict in (Verdict.NOT_MEASURED, Verdict.UNSURE)
    ]


def by_reason(owed: Sequence[OwedWork]) -> dict[str, list[str]]:
    """What is owed, grouped by its reason, both in their first order."""
    grouped: dict[str, list[str]] = {}
    for work in owed:
        what = grouped.setdefault(work.reason, [])
        if work.what not in what:
            what.append(work.what)
    return grouped


def run_verdict(
    outcomes: Sequence[StageOutcome], owed: Sequence[OwedWork], ended: str, end_reason: str
) -> tuple[str, str]:
    """Verdict of a run and the one sentence that gives its reason.

    `ended` is done, failed, stopped by hand, or tripped; `end_reason` says why it ended early.
    """
    failed = [o for o in outcomes if o.verdict == "fail"]
    told = "; ".join(f"{o.title}: {o.reason}" for o in failed)
    if ended == "tripped":
        return "aborted", end_reason + (f". Failed before that: {told}" if told else "")
    if failed:
        return "fail", told
    if ended == "stopped by hand":
        return "conditional", end_reason
    if owed or not outcomes or any(o.verdict != "pass" for o in outcomes):
        names = [f"{', '.join(what)} ({reason})" for reason, what in by_reason(owed).items()]
        if not names:
            names = [f"{o.title} ({o.reason})" for o in outcomes if o.verdict != "pass"]
        rest = f", and {len(names) - 3} more" if len(names) > 3 else ""
        return "conditional", "all that ran passed; still owed: " + "; ".join(names[:3]) + rest
    return "pass", f"all {len(outcomes)} stages passed"
