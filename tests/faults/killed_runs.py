"""One run killed, what is left of it signed as it is, and gone on with to its end.

The same run without a fault is what it is compared with: no row that was used may be missing, no
verdict may be better, and what is left must be readable and signable before and after the resume.
"""

from __future__ import annotations

import shutil
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from burnin.core.errors import BurninError
from burnin.core.verdict import RunVerdict
from burnin.record.reader import Record, read_record
from tests.faults.fault import COUNT, Fault
from tests.faults.forked import Asked, Forks
from tests.faults.used_events import Row, held, used

PROFILE = Path(__file__).parent / "profiles" / "short.toml"
KILLED = -9
_RANK = {
    RunVerdict.FAIL: 0, RunVerdict.ABORTED: 1, RunVerdict.INCOMPLETE: 2,
    RunVerdict.CONDITIONAL: 3, RunVerdict.PASS: 4,
}  # fmt: skip
_RESUMES = 3


@dataclass(frozen=True)
class Whole:
    """The run without a fault: its verdict, that of each stage, how many calls it made."""

    scenario: str
    verdict: RunVerdict
    stages: dict[str, str]
    calls_count: int


@dataclass(frozen=True)
class Killed:
    """What came of one fault."""

    scenario: str
    fault: Fault
    begun: bool
    died: bool
    lost: tuple[Row, ...] = ()
    unread: str = ""
    unsigned: str = ""
    not_resumed: str = ""
    verdict: RunVerdict | None = None
    better: bool = False
    other: bool = False

    @property
    def well(self) -> bool:
        """Whether every guarantee held."""
        return not (
            self.lost or self.unread or self.unsigned or self.not_resumed or self.other
        )

    def __str__(self) -> str:
        flaws = [f"lost {row}" for row in self.lost[:3]]
        flaws += [f"unread: {self.unread}"] if self.unread else []
        flaws += [f"unsigned: {self.unsigned}"] if self.unsigned else []
        flaws += [f"not resumed: {self.not_resumed}"] if self.not_resumed else []
        flaws += [f"ended {self.verdict}"] if self.other else []
        return f"{self.scenario}, {self.fault}: {'; '.join(flaws) or 'well'}"


class Bench:
    """A folder with an account of its own, and commands carried out there."""

    def __init__(self, folder: Path, forks: Forks) -> None:
        self._folder, self._forks, self._count = folder, forks, 0
        self.home = folder / "home"
        self.home.mkdir(parents=True, exist_ok=True)
        self._account = self.home

    def burnin(self, *words: str, fault: Fault | None = None, used: str = "") -> tuple[int, str]:
        """Exit code and output of a command."""
        self._count += 1
        said = self._folder / f"said-{self._count}.txt"
        code = self._forks.carry_out(
            Asked(words, str(self.home), str(said), fault, used)
        )
        return code, said.read_text("utf-8", "replace") if said.exists() else ""

    def run(
        self, scenario: str, results: Path, *, fault: Fault | None = None, used: str = ""
    ) -> tuple[int, str]:
        """A short run of a scenario."""
        return self.burnin(
            "run", "--unattended", "--json", "--results", str(results),
            "-p", str(PROFILE), "--simulated", scenario, fault=fault, used=used,
        )  # fmt: skip


def room_in_memory() -> str | None:
    """Where records of many runs are kept: in memory, where there is such a place."""
    memory = Path("/dev/shm")
    return str(memory) if memory.is_dir() else None


def whole_run(bench: Bench, scenario: str, results: Path) -> Whole:
    """The run that nothing disturbs."""
    results.mkdir(parents=True)
    calls = results / "calls"
    bench.run(scenario, results / "results", fault=Fault(COUNT, str(calls)))
    record = read_record(folder_in(results / "results") or results)
    stages = {row.stage: str(row.verdict) for row in record.stages}
    return Whole(scenario, record.run.verdict, stages, calls.stat().st_size)


def folder_in(results: Path) -> Path | None:
    """The folder of the only record that was begun; None where none was."""
    found = [path for path in results.glob("*/*") if path.is_dir() and path.parent.name != "bench"]
    return found[0] if found else None


def kill_and_go_on(
    bench: Bench, whole: Whole, fault: Fault, work: Path, again: Fault | None = None
) -> Killed:
    """Kill a run, sign what is left, resume it to its end; `again` kills the first resume too."""
    results, list_of_used = work / "results", work / "used.jsonl"
    code, said = bench.run(whole.scenario, results, fault=fault, used=str(list_of_used))
    folder = folder_in(results)
    if folder is None or not (folder / "run.json").exists():
        lost = tuple(used(list_of_used))
        return Killed(whole.scenario, fault, False, code == KILLED, lost=lost)
    found = Killed(whole.scenario, fault, True, code == KILLED)
    try:
        record = read_record(folder)
    except BurninError as error:
        return _with(found, unread=str(error))
    lost = tuple(_missing(list_of_used, record))
    unsigned = _why_not_signed(bench, folder, work / "signed")
    faults = [again] if again is not None else []
    code, said = 0, ""
    for planted in [*faults, None]:
        code, said = bench.burnin(
            "run", "--resume", str(folder), "--unattended",
            fault=planted, used=str(list_of_used),
        )  # fmt: skip
    after = read_record(folder)
    finished = after.run.verdict is not RunVerdict.INCOMPLETE
    if code == 2 and not finished:
        return _with(found, lost=lost, unsigned=unsigned, not_resumed=said.strip()[-300:])
    verdict = after.run.verdict
    lost = (*lost, *_missing(list_of_used, after))
    if not unsigned:
        unsigned = _why_not_signed(bench, folder, work / "again")
    better = _RANK[verdict] > _RANK[whole.verdict]
    stages = {row.stage: str(row.verdict) for row in after.stages}
    other = verdict is not whole.verdict or stages != whole.stages
    return _with(
        found, lost=lost, unsigned=unsigned, verdict=verdict, better=better, other=other
    )


def _with(found: Killed, **changed: object) -> Killed:
    return Killed(**{**vars(found), **changed})


def _missing(list_of_used: Path, record: Record) -> Iterator[Row]:
    there: Counter[Row] = held(record)
    for row, count in used(list_of_used).items():
        if there[row] < count:
            yield row


def _why_not_signed(bench: Bench, folder: Path, copy: Path) -> str:
    """Why a copy of the record can not be given a sheet and a signature; empty where it can."""
    shutil.copytree(folder, copy)
    code, said = bench.burnin("sheet", str(copy))
    if code:
        return said.strip()[-300:]
    code, said = bench.burnin("verify", str(copy))
    return said.strip()[-300:] if code else ""
