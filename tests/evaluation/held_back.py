"""Ramps on simulated cards at fault, with and without `[stages.on_warning]`: how each one ends.

``python -m tests.evaluation.held_back --cards 12 --seed 9301`` prints the counts. The same card
meets the same ramp twice. What a run is asked for is its own record and events, nothing else.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from burnin.core.events import GuardTripped, SampleTaken, WarningGiven
from burnin.core.reading import Verdict, known
from tests.run.driving import Ran, run_simulated
from tests.run.ramps import DRY, LIMIT_C, loose, ramp_profile, readings, scenario

SHARES = """steps = [
  { load_share = 0.25, hold_s = 45.0 },
  { load_share = 0.5, hold_s = 45.0 },
  { load_share = 1.0, hold_s = 150.0 },
]
cool_down_s = 5.0"""
WATTS = SHARES.replace("load_share = 0.25", "power_w = 130.0").replace(
    "load_share = 0.5", "power_w = 250.0"
).replace("load_share = 1.0", "power_w = 430.0")
OWN = "top_w = 430.0\nbudget_j = 5000.0\nsoak_s = 150.0\nrest_at_most_s = 60.0"
HOLDS_BACK = "[stages.on_warning]\nrest_at_most_s = 60.0\n"


class End(StrEnum):
    """How a ramp ended."""

    LIMIT = "limit reached"
    STOPPED = "stopped by a guard"
    NAMED = "ended or lowered by plan, cause named"
    BY_PLAN = "ended or lowered by plan, no cause"
    WHOLE = "whole"


@dataclass(frozen=True)
class Card:
    """A simulated card: the fault's name, how it is cooled, its causes as a scenario says them."""

    fault: str
    cooling: str
    causes: str


def drawn(cards: int, seed: int) -> Iterator[Card]:
    """As many cards of each fault, of severities that may cross and may not."""
    rng = random.Random(seed)
    for _ in range(cards):
        clogs = '[[causes]]\nkind = "airflow"\nresistance_factor = {:.2f}\n'
        yield Card("clogged", "air", clogs.format(rng.uniform(6.0, 14.0)))
        stalls = '[[causes]]\nkind = "fan"\nstate = "stalls"\nafter_load_s = {:.0f}\n'
        yield Card("fan lost", "air", stalls.format(rng.uniform(5.0, 120.0)))
        yield Card("poor mount", "air", loose(round(rng.uniform(4.0, 9.0), 2)))
        stops = '[[causes]]\nkind = "coolant"\nstate = "flow_stops"\nafter_load_s = {:.0f}\n'
        yield Card("flow lost", "water_loop", stops.format(rng.uniform(5.0, 120.0)))
        yield Card("dry", "water_loop", DRY)
        yield Card("sound", rng.choice(("air", "water_loop")), "")


def ramps(card: Card) -> Iterator[tuple[str, str, str]]:
    """Name, settings and own plan of each ramp."""
    yield "shares", SHARES, ""
    yield "watts", WATTS, ""
    yield "own", "cool_down_s = 5.0", OWN


def run(card: Card, ramp: str, plan: str, seed: int, *, holds_back: bool) -> tuple[End, Ran]:
    """One run, and how its ramp ended."""
    word = "water" if card.cooling.startswith("water") else "fans"
    tables = f"{plan}\n{HOLDS_BACK}" if plan else ""
    settings = ramp if plan or not holds_back else f"{ramp}\n{HOLDS_BACK}"
    profile = ramp_profile(word, settings, tables if holds_back else plan)
    with tempfile.TemporaryDirectory() as folder:
        there = Path(folder)
        ran = run_simulated(scenario(there, card.cooling, card.causes), profile, there, seed=seed)
        return _end(ran, LIMIT_C[word]), ran


def _end(ran: Ran, limit_c: float) -> End:
    read = (e.sample.telemetry.gpu_temp_c for e in ran.events if isinstance(e, SampleTaken))
    if max(c for t in read if (c := known(t)) is not None) >= limit_c:
        return End.LIMIT
    if any(isinstance(e, GuardTripped) for e in ran.events):
        return End.STOPPED
    found = readings(ran)
    top = [r for name, r in found.items() if name in ("load_as_planned", "power_held_w top")]
    if all(r.verdict is Verdict.PASS for r in (*top, found["power_w"]) if r.required):
        return End.WHOLE
    named = found["cooling_state"].verdict in (Verdict.FAIL, Verdict.UNSURE)
    return End.NAMED if named else End.BY_PLAN


def main() -> None:
    """Print the counts."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cards", type=int, default=12)
    parser.add_argument("--seed", type=int, default=9301)
    said = parser.parse_args()
    counts: Counter[tuple[str, str, bool, End]] = Counter()
    warned: Counter[tuple[str, str]] = Counter()
    for number, card in enumerate(drawn(said.cards, said.seed)):
        print(f"card {number}: {card.fault}", file=sys.stderr, flush=True)
        for name, ramp, plan in ramps(card):
            for holds_back in (False, True):
                end, ran = run(card, ramp, plan, said.seed + number, holds_back=holds_back)
                counts[card.fault, name, holds_back, end] += 1
                if holds_back and any(isinstance(e, WarningGiven) for e in ran.events):
                    warned[card.fault, name] += 1
    for fault, name in sorted({(f, n) for f, n, _, _ in counts}):
        for holds_back in (False, True):
            ends = "; ".join(
                f"{end} {counts[fault, name, holds_back, end]}"
                for end in End
                if counts[fault, name, holds_back, end]
            )
            how = f"holds back (warned {warned[fault, name]})" if holds_back else "goes on"
            print(f"{fault:10} {name:6} {how:24} {ends}")


if __name__ == "__main__":
    main()
