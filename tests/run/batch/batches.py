"""A batch of simulated cards, each in a process of its own, and what it leaves on disk."""

from __future__ import annotations

import csv
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

from burnin.core.meaning import Note
from burnin.core.reading import known
from burnin.record.batches.batch import Batch, CardOfBatch, batches_in, power_file, read_batch
from burnin.record.reader import Record, read_record
from burnin.run.batch.budget import Budget
from burnin.run.batch.keeper import Keeper, Patience
from burnin.run.batch.ledger import WINDOW_S
from burnin.run.batch.member import Command, Member
from burnin.run.bench import Options, cards_of_bench
from burnin.run.leave.need import most_w
from tests.run.batch.card_process import sampled_file

SHORT = """
format = 1
title = "A little"
[guards]
gpu_temp_limit_c = 56.0
[[stages]]
stage = "enumeration"
[[stages]]
stage = "compute"
load_s = 2.0
"""
LONGER = f"""{SHORT}
[[stages]]
stage = "link"
width_lanes = 8
generation = 4
load_s = 2.0
[[stages]]
stage = "thermal_ramp"
steps = [{{ load_share = 1.0, hold_s = 20.0 }}]
cool_down_s = 2.0
gpu_temp_at_most_c = 55.0
"""

PERIOD_S = 0.1


@dataclass
class Seen:
    """A screen that keeps what it is shown, and lets a test act on it."""

    act: Callable[[Member], None] = lambda _: None
    notes: list[Note] = field(default_factory=list)
    waits: dict[str, set[str]] = field(default_factory=dict)

    def changed(self, member: Member) -> None:
        if member.waits is not None:
            self.waits.setdefault(member.address, set()).add(member.waits.code)
        self.act(member)

    def note(self, note: Note) -> None:
        self.notes.append(note)


@dataclass(frozen=True)
class Setting:
    """Where a batch is burnt in, with what."""

    results: Path
    bench: str
    profile: str
    budget: Budget | None = None
    pace: float = 0.0
    patience: Patience = field(default_factory=Patience)


def profile_in(folder: Path, text: str = SHORT) -> str:
    path = folder / "little.toml"
    path.write_text(text, "utf-8")
    return str(path)


def bench_in(folder: Path, *cards: str) -> str:
    path = folder / "bench.toml"
    tables = "\n".join(f"[[cards]]\n{card}" for card in cards)
    path.write_text(f'name = "bench"\ntitle = "Several"\n{tables}\n', "utf-8")
    return str(path)


def command_in(setting: Setting, address: str) -> Command:
    def command(socket: int) -> Sequence[str]:
        return [
            sys.executable, "-m", "tests.run.batch.card_process", address, setting.bench,
            setting.profile, str(setting.results), f"{setting.pace:g}", str(socket),
        ]  # fmt: skip

    return command


def keeper_of(
    setting: Setting,
    screen: Seen,
    *,
    only: Sequence[str] = (),
    stop_asked: Callable[[], int] = lambda: 0,
) -> Keeper:
    found = []
    for card in cards_of_bench(Options(simulated=setting.bench)):
        address = card.identity().address
        if not only or address in only:
            found.append(
                Member(
                    CardOfBatch(address),
                    command_in(setting, address),
                    power_w=known(card.telemetry().power_w),
                    limit_w=most_w(card.ratings()),
                )
            )
    budget_w = setting.budget.watts if setting.budget is not None else None
    batch = Batch("batch", "2026-03-02T08:00:00.000Z", tuple(m.card for m in found), True, budget_w)
    return Keeper(
        batch, found, setting.results, setting.budget, screen, None, stop_asked, setting.patience
    )


def batch_of(setting: Setting) -> Batch:
    """The batch as its file tells it."""
    return read_batch(batches_in(setting.results)[0])


def record_of(setting: Setting, card: CardOfBatch) -> Record:
    return read_record(setting.results / card.record)


def most_in_any_second(setting: Setting) -> float:
    """By the log: the sum of each card's highest count within a span of a second, the worst."""
    with power_file(setting.results, "batch").open(encoding="utf-8") as file:
        rows = [(float(r["at_s"]), r["card"], float(r["counted_w"])) for r in csv.DictReader(file)]
    worst = 0.0
    for end_s, _, _ in rows:
        most: dict[str, float] = {}
        for at_s, card, watts in rows:
            if at_s <= end_s - WINDOW_S:
                most[card] = watts
            elif at_s <= end_s:
                most[card] = max(most.get(card, 0.0), watts)
        worst = max(worst, sum(most.values()))
    return worst


@dataclass(frozen=True)
class Taken:
    """One sample: when by the wall's clock and the run's, what the card drew, in which stage."""

    at_s: float
    power_w: float
    elapsed_s: float
    stage: str


def taken(setting: Setting, card: CardOfBatch) -> list[Taken]:
    """Every sample of a card."""
    lines = sampled_file(setting.results, card.address).read_text("utf-8").splitlines()
    return [
        Taken(float(at), float(watts), float(since), stage)
        for at, watts, since, stage in (line.split(" ", 3) for line in lines)
    ]


def late_s(setting: Setting, card: CardOfBatch) -> list[float]:
    """By how much each sample came later by the wall than one period after the one before.

    Of one stage, and where the run itself let one period pass: between loads it does not sample.
    """
    return [
        max(0.0, b.at_s - a.at_s - PERIOD_S)
        for a, b in pairwise(taken(setting, card))
        if a.stage == b.stage and abs(b.elapsed_s - a.elapsed_s - PERIOD_S) < 1e-3
    ]


def p99(values: Sequence[float]) -> float:
    """The value that one in a hundred exceeds."""
    return sorted(values)[int(0.99 * len(values))]


def drawn_together_w(setting: Setting, batch: Batch) -> float:
    """By the samples: the sum of the highest power of each card within a second, the worst."""
    seconds: dict[int, dict[str, float]] = {}
    for card in batch.cards:
        for one in taken(setting, card):
            there = seconds.setdefault(int(one.at_s), {})
            there[card.address] = max(one.power_w, there.get(card.address, 0.0))
    return max(sum(each.values()) for each in seconds.values())
