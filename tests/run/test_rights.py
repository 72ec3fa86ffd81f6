"""`burnin cards --why`: each right tried by the readers of a run, and nothing is changed by it."""

from __future__ import annotations

import errno
import json
import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from burnin.card.capabilities import Card
from burnin.card.files import BenchFiles, RecordStream
from burnin.card.merge import open_bench
from burnin.cli.app import app
from burnin.core.clock import WallClock
from burnin.core.meaning import Meaning, Term
from burnin.run.rights import things
from burnin.run.rights.account import Account, this_account
from burnin.run.rights.meanings import RightSeen, RightThing
from burnin.run.rights.of_bench import folder_trial, lock_trial
from burnin.run.rights.of_card import trials_of_card
from burnin.run.rights.survey import Survey, surveyed
from burnin.run.rights.trial import State, Trial
from burnin.sim.bench import open_simulated, simulated_bench

ACCOUNT = Account("ilse", 1000, ())


@dataclass(frozen=True)
class Kept:
    """A machine's files before an account that may read less of them."""

    files: BenchFiles
    config_bytes: int = 4096
    shut: tuple[str, ...] = ()

    def _check(self, path: str) -> None:
        if any(part in path for part in self.shut):
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), path)

    def read_bytes(self, path: str, limit: int = 1 << 20) -> bytes:
        self._check(path)
        most = self.config_bytes if path.endswith("/config") else limit
        return self.files.read_bytes(path, min(limit, most))

    def list_folder(self, path: str) -> list[str]:
        return self.files.list_folder(path)

    def resolve(self, path: str) -> str:
        return self.files.resolve(path)

    def open_records(self, path: str) -> RecordStream:
        self._check(path)
        return self.files.open_records(path)  # type: ignore[attr-defined,no-any-return]


def asked(scenario: str = "healthy", **kept: Any) -> Survey:
    source = open_simulated(scenario, 1, None)
    return surveyed(ACCOUNT, replace(source, files=Kept(source.files, **kept)), WallClock())


def of(found: Survey, name: Term) -> Trial:
    [trial] = [t for t in found.trials if t.thing.name == name]
    return trial


def test_an_account_that_is_refused_nothing_has_every_right() -> None:
    found = asked()
    states = {t.thing.name.code: t.state for t in found.trials}
    assert not {State.NO, State.PART} & set(states.values())
    for name in (RightThing.SENSORS, RightThing.OUTPUTS, RightThing.KERNEL_LOG, RightThing.LINK):
        assert states[name.value] is State.YES
    whole = RightSeen.BYTES(readable_bytes=4096, whole_bytes=4096)
    assert of(found, RightThing.CONFIG_OF_PORT()).seen == whole


def test_the_first_64_bytes_alone_are_a_right_in_part() -> None:
    trial = of(asked(config_bytes=64), RightThing.CONFIG_OF_CARD())
    assert trial.state is State.PART
    assert trial.seen == RightSeen.BYTES(readable_bytes=64, whole_bytes=4096)


def test_a_bench_that_reaches_256_bytes_lacks_no_right() -> None:
    trial = of(asked(config_bytes=256), RightThing.CONFIG_OF_CARD())
    assert trial.state is State.YES
    assert trial.seen == RightSeen.BYTES(readable_bytes=256, whole_bytes=4096)


def test_a_closed_log_is_no_right_and_one_closed_sensor_a_right_in_part() -> None:
    found = asked(shut=("/dev/kmsg", "/edid", "/config"))
    assert of(found, RightThing.KERNEL_LOG()).state is State.NO
    assert of(found, RightThing.CONFIG_OF_CARD()).state is State.NO
    outputs = of(found, RightThing.OUTPUTS())
    assert outputs.state is State.PART
    assert outputs.seen.code == RightSeen.TOLD_BUT.value


def test_what_a_card_has_not_is_not_taken_for_a_missing_right() -> None:
    assert of(asked(), RightThing.NVML()).state is State.NOT_HERE


class Recording:
    """A card that notes which of its capabilities were asked."""

    def __init__(self, card: Card) -> None:
        self.card, self.calls = card, set[str]()

    def __getattr__(self, name: str) -> Any:
        self.calls.add(name)
        return getattr(self.card, name)


def test_every_capability_of_a_card_is_asked() -> None:
    files = simulated_bench("healthy").files
    [card] = open_bench(files, this_machine=False, simulated=True).cards()
    recording = Recording(card)
    list(trials_of_card(recording))
    offered = {name for name in dir(Card) if not name.startswith("_")}
    # `present` and `configuration_space` read the same bytes; the rest tells of what was read.
    left = {"present", "configuration_space", "resolution", "sources"}
    assert offered - recording.calls == left


def test_looking_at_folders_leaves_nothing_behind(tmp_path: Path) -> None:
    before = sorted(tmp_path.rglob("*"))
    assert lock_trial([tmp_path / "burnin"]).state is State.YES
    assert folder_trial(things.records("x"), tmp_path / "a" / "b").state is State.YES
    assert sorted(tmp_path.rglob("*")) == before
    (tmp_path / "file").write_text("")
    assert lock_trial([tmp_path / "file", tmp_path / "none" / "burnin"]).state is State.NO


def test_a_folder_into_which_others_look_is_said(tmp_path: Path) -> None:
    tmp_path.chmod(0o755)
    trial = folder_trial(things.records(str(tmp_path)), tmp_path)
    assert trial.seen == RightSeen.FOLDER_SEEN_BY_OTHERS(folder=str(tmp_path), mode="0755")
    tmp_path.chmod(0o700)
    assert folder_trial(things.records(str(tmp_path)), tmp_path).seen == RightSeen.FOLDER_OPEN(
        folder=str(tmp_path)
    )


def test_capabilities_are_those_that_the_kernel_gives() -> None:
    @dataclass(frozen=True)
    class Status:
        text: bytes

        def read_bytes(self, _path: str, _limit: int = 1 << 20) -> bytes:
            return self.text

    def held(text: bytes) -> tuple[str, ...]:
        return this_account(Status(text)).capabilities  # type: ignore[arg-type]

    assert held(b"Name:\tx\nCapEff:\t0000000400200000\n") == ("CAP_SYS_ADMIN", "CAP_SYSLOG")
    assert held(b"CapPrm:\tffffffffffffffff\nCapEff:\t0000000000000000\n") == ()
    assert held(b"CapEff:\tnothing\n") == ()


AS_NOBODY = """
import os, sys
from pathlib import Path
from burnin.cli import rights_lines
from burnin.core import seams
import burnin.ticket.shop.shop_file
for seam in seams.GROUPS:
    seams.members(seam)
import pynvml
os.setgroups([]), os.setegid(65534), os.seteuid(65534)
os.environ["HOME"] = "/nonexistent"
rights_lines.list_rights(
    True, print, simulated="", results=Path(sys.argv[1]), language="en")
"""


@pytest.mark.skipif(os.geteuid() != 0, reason="only root can become another account")
def test_another_account_of_this_machine_is_told_what_it_lacks(tmp_path: Path) -> None:
    tmp_path.chmod(0o700)
    done = subprocess.run(
        [sys.executable, "-c", AS_NOBODY, str(tmp_path)], capture_output=True, text=True, check=True
    )
    told = json.loads(done.stdout)
    states = {row["thing"]["code"]: row["state"] for row in told["things"]}
    assert told["account"]["capabilities"] == []
    assert states[RightThing.RECORDS.value] == "no"
    assert states[RightThing.BENCH_FACTS.value] == "yes"


@pytest.mark.parametrize(
    ("language", "words"),
    [("en", ("takes: root, or", "without it:")), ("de", ("braucht: root oder", "ohne das:"))],
)
def test_the_table_names_thing_right_and_loss(language: str, words: tuple[str, ...]) -> None:
    done = CliRunner().invoke(
        app, ["cards", "--why", "--simulated", "healthy", "--language", language]
    )
    assert done.exit_code == 0
    for word in (*words, "Corvane Strata 9", "4096"):
        assert word in done.output


def test_json_holds_codes_for_every_thing() -> None:
    done = CliRunner().invoke(app, ["cards", "--why", "--simulated", "healthy", "--json"])
    rows = json.loads(done.output)["things"]
    listed = {Meaning.from_plain(row["thing"]).code for row in rows}
    assert listed == {member.value for member in RightThing}
    for row in rows:
        assert {Meaning.from_plain(row[key]).code for key in ("needs", "seen", "without")}


def test_cards_of_the_simulated_machine_are_listed() -> None:
    done = CliRunner().invoke(app, ["cards", "--simulated", "healthy"])
    assert done.exit_code == 0
    assert "Corvane Strata 9" in done.output
    again: Callable[..., Any] = CliRunner().invoke
    assert again(app, ["cards", "--simulated", "nonesuch", "--why"]).exit_code == 2
