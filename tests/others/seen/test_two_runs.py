"""Seen: two runs at once, one a card, both failed; a second run on a card under test was let in."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from burnin.cli.app import app
from burnin.record.reader import Record, read_record
from burnin.run import card_lock
from burnin.sim.bench import SimulatedBench
from tests.run.two_cards import FIRST, SECOND, AnotherRun, TwoCards, two_cards

HOLDS = """
import sys
from pathlib import Path
from burnin.core.identity import Identity
from burnin.core.reading import NotMeasured
from burnin.run.card_lock import lock_card
from burnin.run.reasons import RunReason

none = NotMeasured(RunReason.UNATTENDED())
card = Identity(sys.argv[2], 0xF5A7, 9, *[none] * 3, 0x30000, *[none] * 8, bars=())
lock = lock_card(card, folders=(Path(sys.argv[1]),))
lock.tell(Path("/results/T-9/some-run"))
print("held", flush=True)
sys.stdin.read()
"""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where the locks of this test lie: not where those of this machine do."""
    monkeypatch.setattr(card_lock, "FOLDERS", (tmp_path / "lock",))
    return tmp_path / "lock"


class Bench:
    """The command on a bench with two cards, as on a real one: nothing of it says simulated."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, results: Path) -> None:
        self.cards: TwoCards = two_cards()
        self._results = results
        self._patch = monkeypatch

    def run(self, address: str, *more: str, engine_of: SimulatedBench | None = None) -> Result:
        own = self.cards.first if address == FIRST else self.cards.second
        engine = (engine_of or own).engine
        self._patch.setattr("burnin.card.files.HostFiles", lambda: self.cards.files)
        self._patch.setattr("burnin.run.bench.WallClock", lambda: self.cards.clock)
        self._patch.setattr("burnin.engine.choose.open_engine", lambda *_, **__: engine)
        command = ["run", "-p", "short_x8", "--card", address, "--unattended", "--monitors", "all"]
        results = ["--results", str(self._results)]
        return CliRunner().invoke(app, [*command, *results, *more], catch_exceptions=False)

    def record(self) -> Record:
        (newest,) = sorted(self._results.glob("*/*/run.json"))
        return read_record(newest.parent)


@pytest.fixture
def bench(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Bench:
    return Bench(monkeypatch, tmp_path / "results")


def proof_of(record: Record) -> tuple[object, object]:
    (reading,) = (r for r in record.readings if r.name == "engine_works_this_card")
    return reading.value, reading.verdict


@pytest.mark.parametrize(
    ("address", "beside"),
    [
        (FIRST, "from the start"),
        pytest.param(FIRST, None, marks=pytest.mark.long),
        pytest.param(FIRST, "in slices", marks=pytest.mark.long),
        pytest.param(SECOND, "all the while", marks=pytest.mark.long),
    ],
)
def test_a_run_ends_as_it_does_alone_whatever_another_run_does_on_another_card(
    bench: Bench, address: str, beside: str | None
) -> None:
    other = bench.cards.second if address == FIRST else bench.cards.first
    stranger = {
        "from the start": AnotherRun(0.5, from_s=5.0, pattern_s=0.0),
        "in slices": AnotherRun(0.06),
        "all the while": AnotherRun(1.0, pattern_s=0.0),
    }.get(beside or "")
    if stranger is not None:
        other.machine.employ(stranger)
    done = bench.run(address)
    record = bench.record()
    assert record.run.card is not None
    assert record.run.card.address == address
    assert proof_of(record) == ("proven", "pass")
    assert done.exit_code == 0, done.output


def test_an_engine_that_works_the_other_card_is_found_out_though_this_one_is_worked_too(
    bench: Bench,
) -> None:
    bench.cards.first.machine.employ(AnotherRun(0.06))
    done = bench.run(FIRST, engine_of=bench.cards.second)
    assert proof_of(bench.record()) == ("not this card", "fail")
    assert done.exit_code == 4, done.output
    assert SECOND in done.output


@pytest.fixture
def holder(folder: Path) -> Iterator[subprocess.Popen[str]]:
    """Another process that holds the first card."""
    with subprocess.Popen(
        [sys.executable, "-c", HOLDS, str(folder), FIRST],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    ) as process:  # fmt: skip
        assert process.stdout is not None
        assert process.stdout.readline() == "held\n"
        yield process
        process.kill()


@pytest.mark.long
def test_a_second_run_on_a_card_under_test_is_refused_and_says_who_holds_it(
    bench: Bench, holder: subprocess.Popen[str]
) -> None:
    refused = bench.run(FIRST)
    assert refused.exit_code == 2
    assert f"process {holder.pid}" in refused.output
    assert "/results/T-9/some-run" in refused.output
    assert not list(bench._results.glob("*/*"))
    assert bench.run(SECOND).exit_code == 0


def test_a_killed_run_lets_go_of_its_card(
    bench: Bench, holder: subprocess.Popen[str]
) -> None:
    holder.kill()
    holder.wait()
    assert bench.run(FIRST).exit_code == 0


class PowerCut(BaseException):
    """Nothing more happens: no clean-up is of use, and none is done."""


def cut_short(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The record of a run of the first card that a power cut ended in its link stage."""

    def cut(*_: object, **__: object) -> None:
        raise PowerCut

    with monkeypatch.context() as patch:
        patch.setattr("burnin.stages.link.stage.idle_readings", cut)
        with pytest.raises(PowerCut):
            bench.run(FIRST)
    (run,) = bench._results.glob("*/*/run.json")
    return run.parent


@pytest.mark.long
def test_going_on_with_a_record_is_a_run_too(
    bench: Bench, monkeypatch: pytest.MonkeyPatch, holder: subprocess.Popen[str]
) -> None:
    holder.kill()
    holder.wait()
    record = cut_short(bench, monkeypatch)
    holds = [sys.executable, "-c", HOLDS, str(card_lock.FOLDERS[0]), FIRST]
    with subprocess.Popen(
        holds, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as again:
        assert again.stdout is not None
        again.stdout.readline()
        refused = CliRunner().invoke(app, ["run", "--resume", str(record)])
        again.kill()
    assert refused.exit_code == 2
    assert f"process {again.pid}" in refused.output
    done = CliRunner().invoke(app, ["run", "--resume", str(record), "--monitors", "all"])
    assert done.exit_code == 0, done.output


WRITES = """
import sys
from pathlib import Path
from burnin.run.record_lock import lock_record

held = lock_record(Path(sys.argv[1]))
print("held", flush=True)
sys.stdin.read()
"""


def test_a_record_that_a_run_is_writing_is_gone_on_with_by_nobody_else(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    record = cut_short(bench, monkeypatch)
    with subprocess.Popen(
        [sys.executable, "-c", WRITES, str(record)],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    ) as process:  # fmt: skip
        assert process.stdout is not None
        process.stdout.readline()
        refused = CliRunner().invoke(app, ["run", "--resume", str(record)])
        process.kill()
    assert refused.exit_code == 2
    assert "another run" in refused.output, refused.output


@pytest.mark.long
def test_the_simulated_machine_locks_nothing(folder: Path, tmp_path: Path) -> None:
    for name in ("healthy_x8", "practise:7"):
        command = ["run", "-p", "short_x8", "--simulated", name, "--results", str(tmp_path / name)]
        left_out = [f"--without={kind}" for kind in ("memory", "compute", "thermal_ramp")]
        done = CliRunner().invoke(app, [*command, *left_out, "--unattended"])
        assert done.exit_code in (0, 1, 4), done.output
    assert not folder.exists()


def test_the_list_of_cards_says_which_is_held(
    bench: Bench, holder: subprocess.Popen[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("burnin.card.files.HostFiles", lambda: bench.cards.files)
    told = CliRunner().invoke(app, ["cards"]).output
    assert told.count(f"process {holder.pid}") == 1
    rows = json.loads(CliRunner().invoke(app, ["cards", "--json"]).output)
    assert [row["held"] and row["held"]["pid"] for row in rows] == [holder.pid, None]
