"""The simulated bench's files behind the same seam as a real bench's."""

from __future__ import annotations

import errno
import os
from collections.abc import Mapping

from burnin.sim.files.answers import Answer, Node, SymbolicLink
from burnin.sim.files.kernel_log import PATH as KERNEL_LOG
from burnin.sim.files.kernel_log import SimulatedRecords
from burnin.sim.files.tree import nodes
from burnin.sim.physics.machine import Machine

_MOST_LINKS = 40


def _refuse(number: int, path: str) -> OSError:
    """The error that the operating system would raise (FileNotFoundError, …)."""
    return OSError(number, os.strerror(number), path)


class SimulatedFiles:
    """Answers `burnin.card.files.BenchFiles` from a machine's state at the moment of reading."""

    def __init__(self, machine: Machine, found: Mapping[str, Node] | None = None) -> None:
        """`found`: all files of a bench on which other cards sit beside the machine's own."""
        self._nodes = nodes(machine) if found is None else found
        self._kernel = machine.kernel
        self._found: dict[str, str] = {}
        self._folders: dict[str, set[str]] = {"/": set()}
        for path in self._nodes:
            parts = path.strip("/").split("/")
            for depth, name in enumerate(parts):
                folder = "/" + "/".join(parts[:depth])
                self._folders.setdefault(folder, set()).add(name)

    def _real(self, path: str) -> str:
        """The path with every symbolic link followed; raises OSError where it ends nowhere.

        Links and folders stay what they are, only what files hold changes: looked up once.
        """
        if path not in self._found:
            self._found[path] = self._followed(path)
        return self._found[path]

    def _followed(self, path: str) -> str:
        left = [part for part in path.split("/") if part not in ("", ".")]
        real, followed = "", 0
        while left:
            part = left.pop(0)
            if part == "..":
                real = real.rpartition("/")[0]
                continue
            there = f"{real}/{part}"
            node = self._nodes.get(there)
            if isinstance(node, SymbolicLink):
                followed += 1
                if followed > _MOST_LINKS:
                    raise _refuse(errno.ELOOP, path)
                left = [p for p in node.target.split("/") if p] + left
                real = ""
            elif node is not None:
                if left:
                    raise _refuse(errno.ENOTDIR, path)
                real = there
            elif there in self._folders:
                real = there
            else:
                raise _refuse(errno.ENOENT, path)
        return real or "/"

    def read_bytes(self, path: str, limit: int = 1 << 20) -> bytes:
        """At most `limit` bytes of the file as it reads now."""
        node: Answer | SymbolicLink | None = self._nodes.get(self._real(path))
        if node is None or isinstance(node, SymbolicLink):
            raise _refuse(errno.EISDIR, path)
        return node()[:limit]

    def open_records(self, path: str) -> SimulatedRecords:
        """The kernel's log from now on; nothing else is a file of records here."""
        if self._real(path) != KERNEL_LOG:
            raise _refuse(errno.ESPIPE, path)
        return SimulatedRecords(self._kernel)

    def list_folder(self, path: str) -> list[str]:
        """Names in a folder, sorted."""
        real = self._real(path)
        if real not in self._folders:
            raise _refuse(errno.ENOTDIR, path)
        return sorted(self._folders[real])

    def resolve(self, path: str) -> str:
        """The absolute path with every symbolic link followed."""
        return self._real(path)
