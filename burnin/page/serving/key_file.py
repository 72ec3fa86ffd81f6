"""The key of the page: whoever has it may read runs, answer prompts and stop the load."""

from __future__ import annotations

import os
import secrets
import stat
from pathlib import Path

from burnin.core.errors import BadInput
from burnin.core.files.bounded import SMALL_BYTES, read_at_most
from burnin.core.files.open_flags import BINARY, CLOEXEC
from burnin.core.files.own_process import own_uid
from burnin.core.files.private_files import private_folder
from burnin.page.terms import PageReason
from burnin.ticket.shop.shop_file import shop_folder

_BYTES = 24
"""192 random bits: nobody guesses them."""
_OF_OTHERS = stat.S_IRWXG | stat.S_IRWXO


def page_folder() -> Path:
    """Where key and certificate of the page are kept."""
    return shop_folder() / "page"


def page_key(folder: Path, *, new: bool = False) -> str:
    """The key, made on first use and kept, so that an open page goes on after a restart.

    Raises BadInput where other accounts could read it, OSError where it cannot be kept.
    """
    path = folder / "key"
    if new:
        path.unlink(missing_ok=True)
    if path.exists() or path.is_symlink():
        found = private_bytes(path).decode("ascii", "replace").strip()
        if len(found) >= _BYTES:
            return found
        path.unlink()  # of a disk that was full
    key = secrets.token_urlsafe(_BYTES)
    write_private(path, key.encode())
    return key


def private_bytes(path: Path) -> bytes:
    """What a file holds that is its owner's alone; raises BadInput where it is not, and OSError."""
    found = path.lstat()
    ours = found.st_uid == own_uid() and not found.st_mode & _OF_OTHERS
    if not stat.S_ISREG(found.st_mode) or not ours:
        raise BadInput(PageReason.KEY_OF_OTHERS(file=str(path)))
    return read_at_most(path, SMALL_BYTES)


def write_private(path: Path, content: bytes) -> None:
    """Write a file that is its owner's alone; raises OSError, also where one is there."""
    private_folder(path.parent)
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | CLOEXEC | BINARY, 0o600)
    with os.fdopen(handle, "wb") as file:
        file.write(content)
