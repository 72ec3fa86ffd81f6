"""A file system below the record's writer that keeps only what was synced, in any order.

What a program sees is all that it wrote. What a power cut leaves is drawn anew at each look: of
every file the bytes that a sync covered, and of what was written since any part, cut anywhere or
filled with zeros; of every name that was made, replaced or taken away since its folder was synced
the old state or the new, each name for itself. That is what POSIX leaves open (fsync, rename); file
systems in use order more than that.
"""

from __future__ import annotations

import os
import random
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from unittest.mock import patch

CALLS = ("open", "write", "fdatasync", "fsync", "ftruncate", "close", "replace", "unlink", "mkdir")


class PowerCut(BaseException):
    """Not an Exception: nothing in the tool may catch it, as nothing catches a power cut."""


@dataclass(eq=False)
class _Inode:
    """A file's bytes as a program sees them, and those that a sync covered."""

    seen: bytes = b""
    kept: bytes = b""

    def left(self, draw: random.Random) -> bytes:
        """What a cut leaves of it."""
        if not self.seen.startswith(self.kept):
            return draw.choice((self.seen, self.kept))
        rest = self.seen[len(self.kept) :]
        there = rest[: draw.randint(0, len(rest))]
        if there and draw.random() < 0.3:
            there = bytes(len(there))  # the size was written, the content was not
        return self.kept + there


@dataclass(eq=False)
class _Folder:
    """A folder's names as a program sees them, and those that a sync covered."""

    seen: dict[str, _Inode] = field(default_factory=dict)
    kept: dict[str, _Inode] = field(default_factory=dict)


class SimulatedDisk:
    """Follows every call of this process below `root`; the calls are carried out there, too.

    `cut_at`: number of the call at which the power goes, before or after it is carried out.
    """

    def __init__(self, root: Path, cut_at: int | None = None, *, after: bool = False) -> None:
        self.root, self.calls = root, 0
        self._cut_at, self._after = cut_at, after
        self._folders: dict[Path, _Folder] = {root: _Folder()}
        self._made_and_kept = {root}
        self._handles: dict[int, _Inode | Path] = {}

    @contextmanager
    def mounted(self) -> Iterator[None]:
        """While inside, calls are followed."""
        with ExitStack() as followed:
            for name in CALLS:
                follow = self._followed(name, getattr(os, name))
                followed.enter_context(patch.object(os, name, follow))
            yield

    def after_a_cut(self, into: Path, draw: random.Random) -> None:
        """Write to a folder what a power cut at this moment leaves."""
        into.mkdir(parents=True)
        for path, folder in sorted(self._folders.items()):
            there = into / path.relative_to(self.root)
            if path not in self._made_and_kept and draw.random() < 0.5:
                continue
            if not there.parent.is_dir():
                continue
            there.mkdir(exist_ok=True)
            for name in sorted({*folder.seen, *folder.kept}):
                old, new = folder.kept.get(name), folder.seen.get(name)
                inode = new if old is new else draw.choice((old, new))
                if inode is not None:
                    (there / name).write_bytes(inode.left(draw))

    def _followed(self, name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        follow: Callable[..., None] = getattr(self, f"_{name}")

        def call(about: Any, *given: Any, **named: Any) -> Any:
            if not self._is_ours(about):
                return real(about, *given, **named)
            self.calls += 1
            if self.calls == self._cut_at and not self._after:
                raise PowerCut
            result = real(about, *given, **named)
            follow(result, about, *given)
            if self.calls == self._cut_at:
                raise PowerCut
            return result

        return call

    def _is_ours(self, about: Any) -> bool:
        if isinstance(about, int):
            return about in self._handles
        path = Path(os.fsdecode(about))
        return path == self.root or self.root in path.parents

    def _open(self, handle: int, path: Any, flags: int, *_: Any) -> None:
        path = Path(os.fspath(path))
        if path.is_dir():
            self._handles[handle] = path
            return
        inode = self._folders[path.parent].seen.setdefault(path.name, _Inode())
        if flags & os.O_TRUNC:
            inode.seen = b""
        self._handles[handle] = inode

    def _write(self, stored: int, handle: int, text: bytes) -> None:
        self._inode(handle).seen += bytes(text)[:stored]

    def _ftruncate(self, _: None, handle: int, size: int) -> None:
        inode = self._inode(handle)
        inode.seen = inode.seen[:size]

    def _fdatasync(self, _: None, handle: int) -> None:
        inode = self._inode(handle)
        inode.kept = inode.seen

    def _fsync(self, _: None, handle: int) -> None:
        found = self._handles[handle]
        if isinstance(found, _Inode):
            found.kept = found.seen
            return
        folder = self._folders[found]
        folder.kept = dict(folder.seen)
        self._made_and_kept |= {path for path in self._folders if path.parent == found}

    def _close(self, _: None, handle: int) -> None:
        del self._handles[handle]

    def _replace(self, _: None, source: Any, target: Any) -> None:
        source, target = Path(os.fspath(source)), Path(os.fspath(target))
        inode = self._folders[source.parent].seen.pop(source.name)
        self._folders[target.parent].seen[target.name] = inode

    def _unlink(self, _: None, path: Any) -> None:
        path = Path(os.fspath(path))
        self._folders[path.parent].seen.pop(path.name)

    def _mkdir(self, _: None, path: Any, *__: Any) -> None:
        self._folders.setdefault(Path(os.fspath(path)), _Folder())

    def _inode(self, handle: int) -> _Inode:
        found = self._handles[handle]
        assert isinstance(found, _Inode)
        return found
