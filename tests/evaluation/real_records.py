"""Every record of a real card in sight, with the host that it is of: what a band is judged on."""

from __future__ import annotations

import gzip
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from tests.evaluation.recorded import counted

DATA = Path(__file__).parents[1] / "data"
PAIR = frozenset({"93bf47", "5d96b9"})
"""Two cards of one host."""
HELD_OUT = {"e650b7": "two H200", "0af9ad": "two H200", "c545a8": "c545a8", "a57058": "a57058"}
"""Looked at after the prior was set: those of one host before the band was widened, the others
after that."""


@dataclass(frozen=True)
class RealRecord:
    """A record as `burnin replay` reads it, and its host by a name of ours."""

    name: str
    host: str
    text: str


def in_sight() -> Iterator[RealRecord]:
    """By these the prior of errors was set; hosts that nobody told apart count as one."""
    for file in sorted((DATA / "whole_runs").glob("*.csv.gz")):
        yield _record(file, _stem(file).split("_")[0])
    for file in sorted((DATA / "new_hosts").glob("*.csv.gz")):
        card = _stem(file).split("_")[0]
        if card in HELD_OUT:
            continue
        yield _record(file, "pair" if card in PAIR else card)
    for file in sorted((DATA / "records").glob("*/samples.csv")):
        whole = file.parent.name == "compute_card_whole"
        yield _record(file, "two cards" if whole else "stages")
    yield _record(DATA / "load_steps.csv", "open loop")
    for file in sorted((DATA / "held_power").glob("*.csv")):
        yield _record(file, "held power")


def held_out() -> Iterator[RealRecord]:
    """Looked at after everything was set."""
    for file in sorted((DATA / "new_hosts").glob("*.csv.gz")):
        host = HELD_OUT.get(_stem(file).split("_")[0])
        if host is not None:
            yield _record(file, host)


def _stem(file: Path) -> str:
    return file.name.split(".")[0]


def _record(file: Path, host: str) -> RealRecord:
    raw = file.read_bytes()
    text = (gzip.decompress(raw) if file.suffix == ".gz" else raw).decode()
    name = file.parent.name if file.name == "samples.csv" else _stem(file)
    return RealRecord(name, host, counted(text))
