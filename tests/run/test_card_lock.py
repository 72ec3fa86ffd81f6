"""A card's lock with real locks of the system: other processes, other rights, other folders."""

from __future__ import annotations

import fcntl
import json
import os
import stat
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from burnin.core.errors import HeldByAnotherRun
from burnin.core.identity import Identity
from burnin.core.reading import NotMeasured, ReadingReason
from burnin.report.languages.catalogue import catalogue
from burnin.run.card_lock import CardLock, Holder, holder_of, lock_card
from burnin.run.reasons import RunNote, RunReason
from burnin.run.record_lock import lock_record

NONE = NotMeasured(ReadingReason.NOT_READ())
PLACE, OTHER_PLACE = "0000:01:00.0", "0000:02:00.0"

PROGRAM = """
import os, subprocess, sys
from pathlib import Path
from burnin.core.identity import Identity
from burnin.core.reading import NotMeasured, ReadingReason
from burnin.run.card_lock import lock_card

none = NotMeasured(ReadingReason.NOT_READ())
card = Identity(sys.argv[2], 0xF5A7, 9, *[none] * 3, 0x30000, *[none] * 8, bars=())
lock = lock_card(card, folders=[Path(sys.argv[1])])
lock.tell(Path("/results/T-9/a-run"))
child = None
if "child" in sys.argv:
    null = subprocess.DEVNULL
    child = subprocess.Popen(["sleep", "600"], stdin=null, stdout=null, start_new_session=True)
print(child.pid if child else 0, flush=True)
sys.stdin.read()
"""


def card(address: str = PLACE, *, uuid: str = "", serial: str = "") -> Identity:
    return Identity(
        address, 0xF5A7, 9, NONE, NONE, NONE, 0x30000, NONE, NONE, NONE, NONE, NONE, NONE,
        serial or NONE, uuid or NONE, bars=(),
    )  # fmt: skip


def start(folder: Path, address: str = PLACE, *more: str) -> tuple[subprocess.Popen[str], int]:
    """A process that holds a card, and the number of its child."""
    process = subprocess.Popen(
        [sys.executable, "-c", PROGRAM, str(folder), address, *more],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert process.stdout is not None
    return process, int(process.stdout.readline())


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "lock"


@pytest.fixture
def held(folder: Path) -> Iterator[subprocess.Popen[str]]:
    process, _ = start(folder)
    yield process
    process.kill()
    process.communicate()


def refusal(*folders: Path, identity: Identity | None = None) -> HeldByAnotherRun:
    with pytest.raises(HeldByAnotherRun) as refused:
        lock_card(identity or card(), folders=folders)
    return refused.value


def test_who_is_refused_learns_who_holds_it_since_when_and_for_which_record(
    folder: Path, held: subprocess.Popen[str]
) -> None:
    reason = refusal(folder).reason
    assert reason.means(RunReason.CARD_HELD_FOR_RECORD)
    assert (reason["address"], reason["pid"]) == (PLACE, held.pid)
    assert reason["record"] == "/results/T-9/a-run"
    assert str(reason["since"]).endswith("Z")
    assert reason["user"]
    for language in ("en", "de"):
        assert str(held.pid) in catalogue(language).say(reason)
    seen = holder_of(PLACE, [folder])
    assert seen is not None
    assert seen.pid == held.pid


def test_another_card_is_free(folder: Path, held: subprocess.Popen[str]) -> None:
    assert held.poll() is None
    lock_card(card(OTHER_PLACE), folders=[folder]).release()
    assert holder_of(OTHER_PLACE, [folder]) is None


def test_it_is_free_when_its_process_has_been_killed_though_its_child_lives(folder: Path) -> None:
    process, child = start(folder, PLACE, "child")
    try:
        refusal(folder)
        process.kill()
        process.communicate()
        Path(f"/proc/{child}").stat()
        lock_card(card(), folders=[folder]).release()
    finally:
        os.kill(child, 9)


def test_it_is_free_once_released_and_releasing_twice_changes_nothing(folder: Path) -> None:
    lock = lock_card(card(), folders=[folder])
    refusal(folder)
    lock.release()
    lock.release()
    lock_card(card(), folders=[folder]).release()
    assert holder_of(PLACE, [folder]) is None


def test_a_card_that_tells_a_number_of_its_own_is_known_at_another_place(folder: Path) -> None:
    lock = lock_card(card(uuid="GPU-1"), folders=[folder])
    refusal(folder, identity=card(OTHER_PLACE, uuid="GPU-1"))
    lock_card(card(OTHER_PLACE, uuid="GPU-2"), folders=[folder]).release()
    lock.release()


def test_a_serial_number_that_two_cards_share_holds_neither_for_the_other(folder: Path) -> None:
    both = ["00-00", "00-00"]
    first = lock_card(card(serial="00-00"), serials=both, folders=[folder])
    lock_card(card(OTHER_PLACE, serial="00-00"), serials=both, folders=[folder]).release()
    first.release()


def test_every_user_may_take_it_whatever_the_umask(folder: Path) -> None:
    before = os.umask(0o077)
    try:
        lock_card(card(), folders=[folder]).release()
    finally:
        os.umask(before)
    assert stat.S_IMODE(folder.stat().st_mode) == 0o1777
    (file,) = folder.iterdir()
    assert stat.S_IMODE(file.stat().st_mode) == 0o666


def test_a_folder_that_cannot_be_had_is_said_and_another_one_serves(
    tmp_path: Path, folder: Path
) -> None:
    (tmp_path / "file").write_text("")
    lock = lock_card(card(), folders=[tmp_path / "file", folder])
    assert lock.fell_back is not None
    assert lock.fell_back.means(RunNote.LOCKED_ELSEWHERE)
    assert str(tmp_path / "file") in catalogue("en").say(lock.fell_back)
    refusal(folder)
    lock.release()
    assert lock_card(card(), folders=[folder]).fell_back is None


def test_two_that_cannot_use_the_same_first_folder_meet_in_the_second(
    tmp_path: Path, folder: Path
) -> None:
    first = lock_card(card(), folders=[folder, tmp_path / "second"])
    assert refusal(tmp_path / "nowhere" / "first", tmp_path / "second")
    first.release()


def test_where_no_folder_can_be_had_no_card_is_worked(tmp_path: Path) -> None:
    reason = refusal(tmp_path / "no" / "folder").reason
    assert reason.means(RunReason.NO_LOCK)


def test_a_lock_that_was_got_is_given_back_where_the_next_is_refused(
    tmp_path: Path, folder: Path
) -> None:
    other = lock_card(card(), folders=[tmp_path / "second"])
    refusal(folder, tmp_path / "second")
    lock_card(card(), folders=[folder]).release()
    other.release()


@pytest.mark.parametrize(
    "content",
    [b"", b"{", b"[1]", b'{"pid": "x"}', b'{"pid": 1}', b"\xff" * 9000,
     json.dumps({"pid": 2**40, "user": "a", "since_utc": "b", "record": "c"}).encode()],
)  # fmt: skip
def test_a_file_that_says_nothing_of_use_still_holds(folder: Path, content: bytes) -> None:
    lock = lock_card(card(), folders=[folder])
    (file,) = folder.iterdir()
    file.write_bytes(content)
    assert refusal(folder).reason == RunReason.CARD_HELD_BY_SOMEBODY(address=PLACE)
    lock.release()


def test_what_another_user_wrote_is_shown_without_control_characters(folder: Path) -> None:
    lock = lock_card(card(), folders=[folder])
    (file,) = folder.iterdir()
    told = {"pid": os.getpid(), "user": "\x1b[31mred\n", "since_utc": "s" * 999, "record": ""}
    file.write_text(json.dumps(told))
    reason = refusal(folder).reason
    assert reason["user"] == "[31mred"
    assert len(str(reason["since"])) == 300
    lock.release()


def test_neither_a_link_nor_a_folder_is_taken_for_the_file(tmp_path: Path, folder: Path) -> None:
    lock_card(card(), folders=[folder]).release()
    (file,) = folder.iterdir()
    victim = tmp_path / "victim"
    victim.write_text("kept")
    file.unlink()
    file.symlink_to(victim)
    assert refusal(folder).reason.means(RunReason.NO_LOCK)
    assert victim.read_text() == "kept"
    file.unlink()
    file.mkdir()
    assert refusal(folder).reason.means(RunReason.NO_LOCK)


def test_a_file_tidied_away_between_opening_and_locking_is_made_anew(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    lock_card(card(), folders=[folder]).release()
    (file,) = folder.iterdir()
    real = fcntl.flock
    times: list[int] = []

    def tidied(handle: int, how: int) -> None:
        if not times:
            file.unlink()
        times.append(how)
        real(handle, how)

    monkeypatch.setattr(fcntl, "flock", tidied)
    lock = lock_card(card(), folders=[folder])
    assert len(times) == 2
    monkeypatch.undo()
    refusal(folder)
    lock.release()


def test_a_look_at_who_holds_it_is_no_holding(folder: Path) -> None:
    lock: CardLock = lock_card(card(), folders=[folder])
    lock.release()
    assert holder_of(PLACE, [folder]) is None
    assert holder_of(PLACE, [folder / "none"]) is None
    assert Holder().reason(PLACE).means(RunReason.CARD_HELD_BY_SOMEBODY)


def test_a_record_is_written_by_one_run(tmp_path: Path) -> None:
    held = lock_record(tmp_path)
    with pytest.raises(HeldByAnotherRun) as refused:
        lock_record(tmp_path)
    assert refused.value.reason == RunReason.RECORD_HELD(record=str(tmp_path))
    held.release()
    lock_record(tmp_path).release()
    assert list(tmp_path.iterdir()) == []
    lock_record(tmp_path / "not there yet").release()
