"""Every command that reads a file, given hostile ones: a sentence, exit code 2, nothing written."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import pytest
from typer.testing import CliRunner

from burnin.cli.app import app

DATA = Path(__file__).parents[1] / "data"
HUGE_BYTES = 100 << 20
_RECORD = DATA / "format_1_records" / "hand_made_passed"


def _huge(path: Path) -> None:
    """A hundred megabytes of nothing that take no place on the disk."""
    with path.open("wb") as file:
        file.truncate(HUGE_BYTES)


def _bytes(content: bytes) -> Callable[[Path], None]:
    def make(path: Path) -> None:
        path.write_bytes(content)

    return make


KINDS: dict[str, Callable[[Path], None]] = {
    "empty": _bytes(b""),
    "binary": _bytes(bytes(range(256)) * 16),
    "huge": _huge,
    "deep": _bytes(b'{"a":' * 3000 + b"[" * 3000),
    "deep_toml": _bytes(b"a = " + b"[" * 3000),
    "many_digits": _bytes(b"schema = " + b"9" * 5000),
    "not_utf8": _bytes(b'name = "\xff\xfe"\n'),
    "stray_breaks": _bytes(b'name = "a"\r\rb\0\n'),
    "folder": Path.mkdir,
    "pipe": os.mkfifo,
    "loop": lambda path: path.symlink_to(path.name),
}


@dataclass(frozen=True)
class Reads:
    """A command, and the file of the room that it reads; `codes`: how it may end."""

    name: str
    file: str
    words: tuple[str, ...]
    codes: tuple[int, ...] = (2,)
    may_be: tuple[str, ...] = ()
    """Kinds of which there is nothing to say: an empty shop file is a shop."""


COMMANDS = (
    Reads("check", "p.toml", ("profiles", "check", "p.toml")),
    Reads("run_profile", "p.toml", ("run", "-p", "./p.toml", "--simulated", "healthy")),
    Reads("run_scenario", "s.toml", ("run", "-p", "short_x8", "--simulated", "./s.toml")),
    Reads("replay", "r.csv", ("replay", "r.csv"), may_be=("pipe",)),
    Reads("replay_profile", "p.toml", ("replay", "good.csv", "-p", "./p.toml")),
    Reads("replay_record", "record/run.json", ("replay", "record")),
    Reads("sheet", "record/run.json", ("sheet", "record")),
    Reads("explain", "record/run.json", ("explain", "record")),
    Reads("compare", "record/run.json", ("compare", "record")),
    Reads("resume", "record/run.json", ("run", "--resume", "record")),
    Reads("prove", "record/run.json", ("bench", "prove", "record")),
    Reads("verify", "signed/checksums.sha256", ("verify", "signed"), codes=(1, 2)),
    Reads("verify_key", "k.pem", ("verify", "signed", "--key", "k.pem")),
    Reads("shop", "shop/shop.toml", ("shop",), may_be=("empty", "folder", "pipe", "loop")),
    Reads("show", "results/4711/ticket/events.jsonl", ("ticket", "show", "4711")),
    Reads("tickets", "results/4711/ticket/events.jsonl", ("tickets",), may_be=("empty", "loop")),
    Reads("handover", "results/4711/ticket/events.jsonl", ("handover", "4711")),
    Reads("measure", "m.csv", ("measure", "12", "--from", "m.csv")),
    Reads("photo", "x.jpg", ("ticket", "photo", "12", "x.jpg")),
)


@pytest.fixture
def room(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a record, a signed folder, a ticket 12 and a shop, in which commands run."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("BURNIN_SHOP", str(tmp_path / "shop"))
    monkeypatch.setenv("BURNIN_TECHNICIAN", "J. Wren")
    (tmp_path / "shop").mkdir(mode=0o700)
    shutil.copytree(_RECORD, tmp_path / "record")
    shutil.copytree(_RECORD, tmp_path / "signed")
    lines = (DATA / "load_steps.csv").read_bytes().splitlines(keepends=True)[:50]
    (tmp_path / "good.csv").write_bytes(b"".join(lines))
    opened = CliRunner().invoke(app, ["ticket", "open", "12", "--customer", "Ottilie Maro"])
    assert opened.exit_code == 0, opened.output
    return tmp_path


def _cases() -> Iterator[object]:
    """Each command with each kind; a third of them in a person's run, other kinds each."""
    for place, command in enumerate(COMMANDS):
        for number, kind in enumerate(KINDS):
            if kind not in command.may_be:
                marks = () if (place + number) % 3 == 0 else (pytest.mark.long,)
                yield pytest.param(command, kind, id=f"{command.name}-{kind}", marks=marks)


@pytest.mark.parametrize(("command", "kind"), list(_cases()))
def test_a_hostile_file_is_refused_in_a_sentence(room: Path, command: Reads, kind: str) -> None:
    path = room / command.file
    path.parent.mkdir(parents=True, exist_ok=True)
    path.unlink(missing_ok=True)
    KINDS[kind](path)
    before = _there(room)
    ended = CliRunner().invoke(app, command.words, catch_exceptions=True)
    assert isinstance(ended.exception, SystemExit | None), repr(ended.exception)
    assert ended.exit_code in command.codes, ended.output
    assert "Traceback" not in ended.output
    assert ended.output.strip()
    assert _there(room) == before


def _there(room: Path) -> Sequence[tuple[str, int, int]]:
    """Everything in a room but locks: path, size, and when it was changed last."""
    found = []
    for path in sorted(room.rglob("*")):
        if path.suffix == ".lock":
            continue
        told = path.lstat()
        changed_ns = 0 if path.is_dir() else told.st_mtime_ns
        found.append((str(path.relative_to(room)), told.st_size, changed_ns))
    return found
