"""A made-up shop over some years, written from the trade: who comes, what is done, what comes back.

Nothing here is taken from what asks about it. What holds (a repair that comes back twice as often,
a bench that drifts, a stage that finds nothing) is planted by whoever makes the shop, else nothing
differs but by chance: models differ in their centres, temperatures follow the year.
"""

from __future__ import annotations

import heapq
import math
import random
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta

MODELS = {"Corvane Strata 9": 0.0, "Corvane Strata 7": 4.0, "Halmer Q40": -3.0, "Pell Ridge X": 7.0}
"""Model, and how much warmer than the first it runs, in K."""
BENCHES = ("be4c0001", "be4c0002", "be4c0003", "be4c0004")
REPAIRS = ("pads set anew", "joint reflowed", "crack wired across", "connector replaced")
TECHNICIANS = ("Ilse Tarn", "J. Wren")
CONTACTS = ("A14", "B14", "B17", "A35", "B82")
DAMAGES = ("missing", "lifted")
STAGES = {
    "enumeration": (0.2, 0.05), "link": (2.0, 0.45), "display": (3.0, 0.15),
    "memory": (4.0, 0.15), "compute": (2.0, 0.05), "thermal_ramp": (9.0, 0.15),
}  # fmt: skip
"""Kind, minutes of its work, and its share of what is found."""
START = datetime(2023, 1, 9, 8, 0)  # UTC, as all moments here
YEAR_D = 365.25


@dataclass(frozen=True)
class Planted:
    """What holds in a shop beyond chance."""

    bad_repair: str = ""
    drifting_bench: str = ""
    drift_sd: float = 0.5
    drift_from: float = 0.5
    """share of the years after which the bench drifts"""
    blind_stage: str = ""


@dataclass(frozen=True)
class Value:
    """A reading of a run: number, unit, and the most or least that is allowed."""

    number: float
    unit: str
    at_most: float | None = None
    at_least: float | None = None


@dataclass
class Run:
    """One run: bench, when, verdict, stages (kind, passed, minutes), readings by kind of stage."""

    bench: str
    at: datetime
    passed: bool
    stages: list[tuple[str, bool, float]]
    readings: dict[str, dict[str, Value]]
    warned: bool = False


@dataclass
class Visit:
    """A ticket: one card, what was seen and done on it, its runs, and when it went back."""

    number: str
    model: str
    serial: str
    customer: str
    technician: str
    opened: datetime
    damage: list[tuple[str, str]]
    repairs: list[tuple[datetime, str, tuple[str, ...]]] = field(default_factory=list)
    runs: list[Run] = field(default_factory=list)
    out: datetime | None = None


@dataclass(frozen=True)
class Shop:
    """All visits until `until`, in order of their opening."""

    visits: tuple[Visit, ...]
    until: datetime

    @property
    def runs_count(self) -> int:
        return sum(len(visit.runs) for visit in self.visits)


def make_shop(
    cards: int,
    seed: int,
    planted: Planted = Planted(),
    *,
    years: float = 3.0,
    back_within_90: float = 0.08,
) -> Shop:
    """A shop to which so many cards come for the first time, evenly over the years."""
    chance = random.Random(seed)
    until = START + timedelta(days=years * YEAR_D)
    visits: list[Visit] = []
    coming = [
        (START + timedelta(days=chance.uniform(0.0, years * YEAR_D - 4.0)), f"S{seed:03d}{n:06d}")
        for n in range(cards)
    ]
    cards_of = {serial: chance.choice(list(MODELS)) for _, serial in coming}
    heapq.heapify(coming)
    while coming:
        opened, serial = heapq.heappop(coming)
        visit = _visit(chance, opened, serial, cards_of[serial], len(visits), planted, until, years)
        visits.append(visit)
        if visit.out is None:
            continue
        rate = -math.log(1.0 - back_within_90) / 90.0
        if planted.bad_repair in [what for _, what, _ in visit.repairs]:
            rate *= 2.0
        back = visit.out + timedelta(days=chance.expovariate(rate))
        # Beyond half a year nobody connects it with the repair, and it goes elsewhere.
        if back < until and back < visit.out + timedelta(days=180.0):
            heapq.heappush(coming, (back, serial))
    return Shop(tuple(visits), until)


def _visit(
    chance: random.Random,
    opened: datetime,
    serial: str,
    model: str,
    number: int,
    planted: Planted,
    until: datetime,
    years: float,
) -> Visit:
    places = chance.sample(CONTACTS, chance.choice((1, 1, 2)))
    visit = Visit(
        f"R-{number + 1:06d}", model, serial, f"Customer {chance.choice('ABCDEFG')}. {serial[-4:]}",
        chance.choice(TECHNICIANS), opened, [(place, chance.choice(DAMAGES)) for place in places],
    )  # fmt: skip
    at = opened + timedelta(hours=chance.uniform(2.0, 30.0))
    bench = chance.choice(BENCHES)
    for _ in range(4):
        visit.repairs.append((at, chance.choice(REPAIRS), tuple(places)))
        at += timedelta(hours=chance.uniform(1.0, 4.0))
        run = _run(chance, bench, at, model, planted, years)
        if at >= until:
            return visit
        visit.runs.append(run)
        at += timedelta(hours=chance.uniform(1.0, 20.0))
        if run.passed:
            visit.out = at if at < until else None
            return visit
    return visit


def _run(
    chance: random.Random,
    bench: str,
    at: datetime,
    model: str,
    planted: Planted,
    years: float,
) -> Run:
    passed = chance.random() > 0.15
    weights = {k: 0.0 if k == planted.blind_stage else w for k, (_, w) in STAGES.items()}
    failing = "" if passed else chance.choices(list(weights), list(weights.values()))[0]
    days = (at - START).total_seconds() / 86400.0
    season_k = 2.0 * math.sin(2.0 * math.pi * days / YEAR_D)
    drift = bench == planted.drifting_bench and days > planted.drift_from * years * YEAR_D
    sd = planted.drift_sd if drift else 0.0
    hot = 66.0 + MODELS[model] + season_k + 3.0 * (chance.gauss(0.0, 1.0) + sd)
    apart = 11.0 + 0.2 * MODELS[model] + 1.5 * chance.gauss(0.0, 1.0)
    copy = 24.0 + 0.4 * chance.gauss(0.0, 1.0)
    memory = 700.0 + 20.0 * MODELS[model] + 6.0 * chance.gauss(0.0, 1.0)
    readings: dict[str, dict[str, Value]] = {
        "link": {
            "copy_to_card_gbs": Value(copy, "GB/s", at_least=18.0),
            "link_width_lanes": Value(8.0 if failing == "link" else 16.0, "lanes", at_least=16.0),
        },
        "memory": {"memory_gbs": Value(memory, "GB/s", at_least=400.0)},
        "thermal_ramp": {
            "gpu_temp_settled_c": Value(hot, "°C", at_most=90.0),
            "hotspot_over_gpu_k": Value(apart, "K", at_most=30.0),
        },
    }
    stages = [
        (kind, kind != failing, minutes * chance.uniform(0.9, 1.1))
        for kind, (minutes, _) in STAGES.items()
    ]
    return Run(bench, at, passed, stages, readings, warned=chance.random() < 0.1)


def numbered(shop: Shop) -> Mapping[str, Visit]:
    """Visits by their ticket's number."""
    return {visit.number: visit for visit in shop.visits}
