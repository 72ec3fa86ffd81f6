"""The real page in a process of its own, and requests to it byte by byte."""

from __future__ import annotations

import contextlib
import json
import os
import re
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Page:
    """Where the page is served, its key, and its process."""

    host: str
    port: int
    key: str
    process: subprocess.Popen[str]

    @property
    def address(self) -> str:
        return f"http://{self.host}/"

    @property
    def whole_address(self) -> str:
        return f"{self.address}?language=en#{self.key}"

    def connect(self) -> socket.socket:
        return socket.create_connection(("127.0.0.1", self.port), timeout=5.0)

    def ask(self, raw: bytes, *, most: int = 1 << 16) -> bytes:
        """Everything that comes back to these bytes, as far as one looks."""
        with self.connect() as connection:
            with contextlib.suppress(OSError):  # it may have had enough before all was sent
                connection.sendall(raw)
            return received(connection, most)


def received(connection: socket.socket, most: int, until: bytes = b"") -> bytes:
    found = b""
    while len(found) < most and not (until and until in found):
        try:
            part = connection.recv(1 << 14)
        except OSError:
            break
        if not part:
            break
        found += part
        if not until and b"\r\n\r\n" in found and _is_whole(found):
            break
    return found


def _is_whole(found: bytes) -> bool:
    head, _, body = found.partition(b"\r\n\r\n")
    size = re.search(rb"content-length: (\d+)", head.lower())
    return size is not None and len(body) >= int(size[1])


def status_of(reply: bytes) -> int:
    found = re.match(rb"HTTP/1\.[01] (\d{3}) ", reply)
    return int(found[1]) if found else 0


@contextmanager
def served(results: Path, home: Path, *words: str, port: int = 0) -> Iterator[Page]:
    """The page of the records below `results`, until one leaves."""
    environment = os.environ | {"BURNIN_SHOP": str(home)}
    with subprocess.Popen(
        [sys.executable, "-m", "burnin", "page", "--results", str(results), "--json",
         "--port", str(port), *words],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, stdin=subprocess.DEVNULL, text=True,
        env=environment,
    ) as process:  # fmt: skip
        assert process.stdout is not None
        assert process.stderr is not None
        try:
            line = process.stdout.readline()
            assert line, process.stderr.read()
            address = json.loads(line)["address"]
            found = re.fullmatch(r"https?://(.+:(\d+))/\?language=\w+#(.+)", address)
            assert found is not None
            yield Page(found[1], int(found[2]), found[3], process)
        finally:
            process.kill()
