"""One run a card: a card under test is locked until the process that works it is gone.

The lock is an flock on a file that every user of the machine may open: the kernel lets go of it
when the process ends, however it ends, and no worker inherits it (the file is closed on exec). It
stands for the card's place on the bus, and for the card itself where it tells a number of its own.
It is taken in every folder that can be had, so that two runs that cannot use the same first folder
still meet in another one.
"""

from __future__ import annotations

import contextlib
import errno
import json
import os
import stat
import sys
import time
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path

from burnin.core.clock import iso
from burnin.core.errors import HeldByAnotherRun
from burnin.core.files.disk import read_at
from burnin.core.files.open_flags import BINARY, CLOEXEC, NOFOLLOW, NONBLOCK
from burnin.core.files.own_process import name_of, own_uid
from burnin.core.files.whole_lock import lock_alone, lock_beside_readers
from burnin.core.identity import Identity
from burnin.core.meaning import Note, Reason, Value
from burnin.core.reading import known
from burnin.run.reasons import RunNote, RunReason

FOLDERS = (Path("/run/lock/burnin"), Path("/tmp/burnin-lock"))
"""Where the lock is kept: the first is emptied at start-up and is there for every user."""
_FOLDER_MODE = 0o1777  # everybody makes files, nobody takes away another's
_FILE_MODE = 0o666
_TRIES, _BETWEEN_S = 6, 0.05
"""Somebody who only looks whether a card is held holds the file for a moment."""
_MOST_BYTES, _MOST_CHARACTERS = 4096, 300


@dataclass(frozen=True)
class Holder:
    """Who works a card; a field that nobody could read is 0 or empty."""

    pid: int = 0
    user: str = ""
    since_utc: str = ""
    record: str = ""

    def reason(self, address: str) -> Reason:
        """That this card is held, as far as it is known by whom."""
        if not self.pid:
            return RunReason.CARD_HELD_BY_SOMEBODY(address=address)
        told: dict[str, Value] = {
            "address": address, "user": self.user, "pid": self.pid, "since": self.since_utc
        }  # fmt: skip
        if not self.record:
            return RunReason.CARD_HELD(**told)
        return RunReason.CARD_HELD_FOR_RECORD(**told, record=self.record)


class CardLock:
    """A card's lock, held until `release` or the end of this process."""

    def __init__(self, handles: Sequence[int], holder: Holder, fell_back: Note | None) -> None:
        self._handles, self._holder = list(handles), holder
        self.fell_back = fell_back

    def tell(self, record: Path) -> None:
        """Let whoever is refused know which record is being made."""
        self._holder = Holder(**{**asdict(self._holder), "record": str(record.absolute())})
        for handle in self._handles:
            _write(handle, self._holder)

    def release(self) -> None:
        """Let others have the card; a second time changes nothing."""
        while self._handles:
            with contextlib.suppress(OSError):
                os.close(self._handles.pop())

    def __del__(self) -> None:
        self.release()


def lock_card(
    identity: Identity, *, serials: Sequence[str] = (), folders: Sequence[Path] | None = None
) -> CardLock:
    """Lock a card for this process; raises HeldByAnotherRun where it is held or cannot be locked.

    `serials`: of all cards of this bench; one that two of them share tells nothing.
    """
    handles: list[int] = []
    refused: list[Reason] = []
    places = FOLDERS if folders is None else folders
    try:
        for folder in places:
            try:
                prepare_folder(folder)
                for name in _names(identity, serials):
                    handles.append(take_lock(folder / name, identity.address))
            except OSError as error:
                words = error.strerror or type(error).__name__
                refused.append(RunReason.LOCK_FOLDER_REFUSED(folder=str(folder), words=words))
    except BaseException:
        for handle in handles:
            os.close(handle)
        raise
    if not handles:
        raise HeldByAnotherRun(RunReason.NO_LOCK(address=identity.address, reasons=tuple(refused)))
    holder = Holder(os.getpid(), _user(), iso(datetime.now(UTC)))
    for handle in handles:
        _write(handle, holder)
    fell_back = RunNote.LOCKED_ELSEWHERE(reasons=tuple(refused)) if refused else None
    return CardLock(handles, holder, fell_back)


def holder_of(address: str, folders: Sequence[Path] | None = None) -> Holder | None:
    """Who works the card at this address now; None where nobody does, as far as can be seen."""
    places = FOLDERS if folders is None else folders
    found = (holder_at(folder / _place_name(address)) for folder in places)
    return next((holder for holder in found if holder is not None), None)


def holder_at(path: Path) -> Holder | None:
    """Who holds this file's lock now, which is looked at and never taken; None: nobody."""
    try:
        handle = os.open(path, _READ)
    except OSError:
        return None
    try:
        lock_beside_readers(handle)
        return None
    except OSError:
        return _read(handle)
    finally:
        os.close(handle)


_READ = os.O_RDONLY | CLOEXEC | NOFOLLOW | NONBLOCK | BINARY
_BOTH = os.O_RDWR | CLOEXEC | NOFOLLOW | NONBLOCK | BINARY


def _names(identity: Identity, serials: Sequence[str]) -> list[str]:
    """Names of the files that stand for a card: its place, and itself where it has a number."""
    found = [_place_name(identity.address)]
    uuid, serial = known(identity.uuid), known(identity.serial)
    number = uuid or (serial if serial and list(serials).count(serial) <= 1 else None)
    if number:
        who = f"{identity.vendor_id:04x}:{identity.device_id:04x}:{number}"
        found.append(f"card-{sha256(who.encode()).hexdigest()[:24]}")
    return found


def _place_name(address: str) -> str:
    return f"place-{address.lower().replace(':', '_').replace('/', '_')}"


def prepare_folder(folder: Path) -> None:
    """The folder, for every user; raises OSError, also where something else stands there."""
    try:
        folder.mkdir(parents=False)
    except FileExistsError:
        pass
    else:
        folder.chmod(_FOLDER_MODE)
    if not stat.S_ISDIR(folder.lstat().st_mode):
        raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR), str(folder))


def take_lock(path: Path, address: str) -> int:
    """A handle that holds the file's lock; raises HeldByAnotherRun, OSError if it cannot be had."""
    for _ in range(_TRIES):
        handle = _open(path)
        try:
            lock_alone(handle)
        except BlockingIOError:
            holder = _read(handle)
            os.close(handle)
            time.sleep(_BETWEEN_S)
            continue
        except OSError:
            os.close(handle)
            raise
        if _still_there(handle, path):
            return handle
        os.close(handle)  # somebody tidied the folder between open and lock
        holder = Holder()
    raise HeldByAnotherRun(holder.reason(address))


def _open(path: Path) -> int:
    """The file opened, made where it is missing.

    Not by O_CREAT on a file that is there: in a folder for everybody the kernel refuses that for
    another user's file (sysctl fs.protected_regular). Reading is enough for the lock.
    """
    for _ in range(2):
        for flags in (_BOTH, _READ):
            try:
                handle = os.open(path, flags)
            except PermissionError:
                continue
            except FileNotFoundError:
                break
            if not stat.S_ISREG(os.fstat(handle).st_mode):
                os.close(handle)
                raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(path))
            return handle
        else:
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(path))
        with contextlib.suppress(FileExistsError):
            handle = os.open(path, _BOTH | os.O_CREAT | os.O_EXCL, _FILE_MODE)
            if sys.platform != "win32":
                os.fchmod(handle, _FILE_MODE)  # whatever the umask took away
            return handle
    raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT), str(path))


def _still_there(handle: int, path: Path) -> bool:
    try:
        return os.path.samestat(os.fstat(handle), path.lstat())
    except OSError:
        return False


def _write(handle: int, holder: Holder) -> None:
    """Who holds it; a file that is only ours to read keeps what it says."""
    content = json.dumps(asdict(holder)).encode()
    with contextlib.suppress(OSError):
        os.ftruncate(handle, 0)
        os.lseek(handle, 0, os.SEEK_SET)
        os.write(handle, content)


def _read(handle: int) -> Holder:
    """Who says that he holds it; nobody where that is torn, or of a process that is gone."""
    try:
        told = json.loads(read_at(handle, _MOST_BYTES, 0))
        pid = int(told["pid"])
        holder = Holder(pid, *(_shown(told[name]) for name in ("user", "since_utc", "record")))
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return Holder()
    return holder if pid > 0 and Path(f"/proc/{pid}").exists() else Holder()


def _shown(text: object) -> str:
    """Text of a file that every user may write, as it may be shown."""
    return "".join(c for c in str(text)[:_MOST_CHARACTERS] if c.isprintable())


def _user() -> str:
    return name_of(own_uid())
