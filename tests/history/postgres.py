"""A real PostgreSQL for tests: in a folder of its own, at a socket in it, by no privileged user.

Where it is not installed, tests that need it are left out with the reason (`require_tool`).
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import psycopg

_PLACES = sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True)
_NOT_ROOT = "nobody"
TOOL = str(_PLACES[0] / "postgres") if _PLACES else "postgres"


@dataclass
class Server:
    """A server that can be stopped and started; `url` for an account, made where it is missing."""

    folder: Path
    more: tuple[str, ...] = ()
    port: int = 5432
    _process: subprocess.Popen[bytes] | None = field(default=None, init=False)

    def url(self, account: str = "owner", database: str = "burnin") -> str:
        return f"postgresql://{account}@/{database}?host={self.folder}&port={self.port}"

    def ask(self, *statements: str, account: str = "owner", database: str = "burnin") -> None:
        url = self.url(account, database)
        with psycopg.connect(url, autocommit=True) as connection:
            for statement in statements:
                connection.execute(statement.encode())

    def rows(self, asked: str, account: str = "owner") -> list[tuple[object, ...]]:
        with psycopg.connect(self.url(account), autocommit=True) as connection:
            return connection.execute(asked.encode()).fetchall()

    def start(self) -> None:
        settings = {
            "unix_socket_directories": str(self.folder), "listen_addresses": "", "fsync": "off",
            "port": str(self.port), "shared_buffers": "32MB", "max_connections": "20",
        }  # fmt: skip
        given = [part for name, value in settings.items() for part in ("-c", f"{name}={value}")]
        with (self.folder / "log").open("ab") as log:
            self._process = subprocess.Popen(
                [TOOL, "-D", str(self.folder / "data"), *given, *self.more],
                stdout=subprocess.DEVNULL, stderr=log, user=_account(),
            )  # fmt: skip
        ready = str(Path(TOOL).with_name("pg_isready"))
        asked = [ready, "-q", "-h", str(self.folder), "-p", str(self.port)]
        while subprocess.run(asked, check=False).returncode:
            assert self._process.poll() is None, (self.folder / "log").read_text()

    def stop(self) -> None:
        """At once, as when somebody pulls its plug from the shop's point of view."""
        if self._process is not None:
            self._process.send_signal(signal.SIGQUIT)
            self._process.wait()
            self._process = None


def _account() -> str | None:
    """PostgreSQL refuses to be root's."""
    return _NOT_ROOT if os.geteuid() == 0 else None


@contextmanager
def server(*more: str, port: int = 5432) -> Iterator[Server]:
    """A fresh server with an empty database; `more` are settings of its own."""
    folder = Path(tempfile.mkdtemp(prefix="pg-", dir="/tmp"))
    try:
        if os.geteuid() == 0:
            shutil.chown(folder, _NOT_ROOT)
        made = [str(Path(TOOL).with_name("initdb")), "-D", str(folder / "data"), "-U", "owner"]
        subprocess.run(
            [*made, "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8", "--no-sync"],
            check=True, stdout=subprocess.DEVNULL, user=_account(),
        )  # fmt: skip
        found = Server(folder, more, port)
        found.start()
        try:
            found.ask("CREATE DATABASE burnin", database="postgres")
            yield found
        finally:
            found.stop()
    finally:
        shutil.rmtree(folder)
