"""Scores stops against the truth, with 95 % intervals."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tests.evaluation.scenarios import KINDS, Scenario

NONE_MAY_BE_MISSED = ("no coolant", "flow lost", "fan lost", "clogged")


def wilson(hits: int, of: int) -> tuple[float, float]:
    """95 % score interval of a share (Wilson 1927, JASA 22, 209)."""
    if of == 0:
        return 0.0, 1.0
    z, share = 1.959964, hits / of
    middle = (share + z * z / (2 * of)) / (1 + z * z / of)
    half = z / (1 + z * z / of) * math.sqrt(share * (1 - share) / of + z * z / (4 * of * of))
    return max(0.0, middle - half), min(1.0, middle + half)


@dataclass(frozen=True)
class Share:
    """`hits` of `of`."""

    hits: int
    of: int

    @property
    def value(self) -> float:
        return self.hits / self.of if self.of else 0.0

    def __str__(self) -> str:
        low, high = wilson(self.hits, self.of)
        return f"{100 * self.value:.1f} % ({100 * low:.1f}-{100 * high:.1f}; {self.hits}/{self.of})"


@dataclass(frozen=True)
class Score:
    """One guard on a set of scenarios; leads in seconds, a missed runaway counts as 0.

    `missed`: runaways not stopped before the true crossing. `reached`: crossed before the power
    was really gone, missed ones included. `false`: stops of healthy cards that never cross.
    `early`: stops before the fault began. `needless`: stops of faulty cards that would not cross.
    """

    missed: Share
    reached: Share
    false: Share
    early: Share
    needless: Share
    missed_of_the_grave: Share
    lead_5_s: tuple[float, float, float]
    lead_median_s: tuple[float, float, float]


def _with_interval(leads: Sequence[float], percentile: float) -> tuple[float, float, float]:
    """Percentile and its 95 % bootstrap interval (2,000 resamples, seeded)."""
    if not leads:
        return 0.0, 0.0, 0.0
    values = np.array(leads)
    rng = np.random.default_rng(11)
    again = np.percentile(rng.choice(values, (2000, len(values))), percentile, axis=1)
    low, high = np.percentile(again, [2.5, 97.5]).tolist()
    return float(np.percentile(values, percentile)), low, high


def score(scenarios: Sequence[Scenario], stops: Sequence[float | None]) -> Score:
    """Score the stops of one guard."""
    leads: list[float] = []
    missed = reached = false = early = needless = healthy = faulty_still = late_fault = 0
    grave = grave_missed = 0
    for scenario, stop in zip(scenarios, stops, strict=True):
        s, crossing = scenario.setting, scenario.crossing_s
        runaway = math.isfinite(crossing)
        well = math.isinf(s.fault_at_s)
        later = not well and s.fault_at_s > s.plan[0][0]
        late_fault += later
        before = stop is not None and later and stop < s.fault_at_s
        early += before
        if runaway:
            missed_it = stop is None or stop >= crossing
            missed += missed_it
            reached += missed_it or (stop or 0.0) + s.stop_latency_s >= crossing
            leads.append(0.0 if missed_it or stop is None else crossing - stop)
            if s.kind in NONE_MAY_BE_MISSED:
                grave += 1
                grave_missed += missed_it
        elif well:
            healthy += 1
            false += stop is not None
        else:
            faulty_still += 1
            needless += stop is not None and not before
    return Score(
        Share(missed, len(leads)),
        Share(reached, len(leads)),
        Share(false, healthy),
        Share(early, late_fault),
        Share(needless, faulty_still),
        Share(grave_missed, grave),
        _with_interval(leads, 5.0),
        _with_interval(leads, 50.0),
    )


def _seconds(lead: tuple[float, float, float]) -> str:
    return f"{lead[0]:.1f} ({lead[1]:.1f}-{lead[2]:.1f})"


def table(rows: dict[str, Score]) -> str:
    """A Markdown table of scores."""
    heads = (
        "guard",
        "missed",
        "limit reached",
        "false stops, healthy",
        "stops before the fault",
        "lead 5th percentile, s",
        "lead median, s",
        "stops of faulty cards that would not cross",
    )
    lines = ["| " + " | ".join(heads) + " |", "|" + " --- |" * len(heads)]
    for name, s in rows.items():
        cells = (
            name,
            str(s.missed),
            str(s.reached),
            str(s.false),
            str(s.early),
            _seconds(s.lead_5_s),
            _seconds(s.lead_median_s),
            str(s.needless),
        )
        lines.append("| " + " | ".join(cells) + " |")
    return "\n".join(lines)


@dataclass(frozen=True)
class Named:
    """What a guard called the cooling: the true kind, the state named (or none), how sure."""

    true_kind: str
    state: str
    likeliest: str
    probability: float


def confusion(named: Sequence[Named]) -> str:
    """Rows: truth; columns: the state named, last: cannot tell yet. Then calibration."""
    heads = [k.split(" under")[0] for k in KINDS]
    lines = [
        "| truth | " + " | ".join(heads) + " | cannot tell |",
        "|" + " --- |" * (len(KINDS) + 2),
    ]
    for kind in KINDS:
        mine = [n for n in named if n.true_kind == kind]
        counts = [sum(n.state == k for n in mine) for k in KINDS]
        counts.append(len(mine) - sum(counts))
        lines.append(f"| {kind} | " + " | ".join(map(str, counts)) + " |")
    decided = [n for n in named if n.state in KINDS]
    right = Share(sum(n.state == n.true_kind for n in decided), len(decided))
    open_ = Share(len(named) - len(decided), len(named))
    lines += ["", f"named rightly of the decided: {right}", f"undecided: {open_}", ""]
    lines += ["| said probability | cases | right |", "| --- | --- | --- |"]
    for low in (0.0, 0.4, 0.6, 0.8, 0.9, 0.97):
        high = {0.0: 0.4, 0.4: 0.6, 0.6: 0.8, 0.8: 0.9, 0.9: 0.97, 0.97: 1.01}[low]
        mine = [n for n in named if low <= n.probability < high]
        hits = Share(sum(n.likeliest == n.true_kind for n in mine), len(mine))
        lines.append(f"| {low:.2f} to {min(1.0, high):.2f} | {len(mine)} | {hits} |")
    return "\n".join(lines)
