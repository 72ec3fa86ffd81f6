"""The page put up at an address until Ctrl-C: on this computer alone, or with TLS for others."""

from __future__ import annotations

import gc
import ipaddress
import os
import socket
import sys
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from burnin.core.errors import BadInput
from burnin.core.files.own_process import gives_way
from burnin.page.serving.certificate import Address, certificate_file, fingerprint
from burnin.page.serving.key_file import page_folder, page_key
from burnin.page.terms import PageReason
from burnin.page.watching import Watching

MOST_CONNECTIONS = 128
_KEEP_ALIVE_S = 5
_GIVES_WAY = 5
"""The page is no part of the run: where the bench's processor is short, it waits (nice(2))."""
_SWITCH_S = 0.001
"""Whoever asks waits for the thread that reads a long record no longer than this, each time."""


@dataclass(frozen=True)
class Served:
    """Where the page is: its address with the key, and its certificate's fingerprint, if any."""

    address: str
    fingerprint: str = ""


def serve(
    watching: Watching,
    *,
    address: str,
    port: int,
    language: str,
    new_key: bool,
    say: Callable[[Served], None],
) -> None:
    """Serve until Ctrl-C or SIGTERM; `say` is told where, once it can be reached.

    Raises BadInput for an address at which it cannot be.
    """
    at = _address(address)
    try:
        import uvicorn

        from burnin.page.serving.app import Page
        from burnin.page.serving.checks import MOST_HEAD_BYTES, Door
        from burnin.page.serving.patient import Patient
    except ImportError as error:
        raise BadInput(PageReason.NO_PACKAGES()) from error
    folder = page_folder()
    key = page_key(folder, new=new_key)
    pem = None if at.is_loopback else certificate_file(folder, at)
    listening = _listening(at, port)
    port = listening.getsockname()[1]
    scheme = "http" if pem is None else "https"
    hosts = _names(at, port)
    server: uvicorn.Server | None = None

    def ended() -> bool:
        return server is not None and server.should_exit

    page = Page(watching, Door(hosts, scheme, key), language, ended)
    config = uvicorn.Config(
        page.app(), http=Patient, ws="none", lifespan="off", loop="asyncio", interface="asgi3",
        access_log=False, log_config=None, server_header=False, proxy_headers=False,
        timeout_keep_alive=_KEEP_ALIVE_S, timeout_graceful_shutdown=2,
        limit_concurrency=MOST_CONNECTIONS, h11_max_incomplete_event_size=MOST_HEAD_BYTES,
        ssl_certfile=pem, ssl_keyfile=pem,
    )  # fmt: skip
    server = uvicorn.Server(config)
    sys.setswitchinterval(_SWITCH_S)
    gives_way(_GIVES_WAY)
    watching.begin()
    page.tickets.begin()
    try:
        page.make_ready()
        gc.collect()
        gc.freeze()  # what is there now stays: to look through it again would only keep one waiting
        name = f"{scheme}://{_host(at)}:{port}/?language={language}#{key}"
        say(Served(name, "" if pem is None else fingerprint(pem)))
        with suppress(KeyboardInterrupt):
            server.run(sockets=[listening])
    finally:
        page.tickets.end()
        watching.end()
        listening.close()


def _address(text: str) -> Address:
    try:
        found = ipaddress.ip_address(text)
    except ValueError as error:
        raise BadInput(PageReason.NO_ADDRESS(address=text)) from error
    if found.is_unspecified or found.is_multicast:
        raise BadInput(PageReason.EVERY_ADDRESS(address=text))
    return found


def _listening(at: Address, port: int) -> socket.socket:
    family = socket.AF_INET if at.version == 4 else socket.AF_INET6
    try:
        return socket.create_server((str(at), port), family=family, backlog=MOST_CONNECTIONS)
    except (OSError, OverflowError) as error:
        words = os.strerror(error.errno) if isinstance(error, OSError) and error.errno else ""
        why = PageReason.NOT_SERVED(address=str(at), port=port, words=words or str(error))
        raise BadInput(why) from error


def _host(at: Address) -> str:
    return str(at) if at.version == 4 else f"[{at}]"


def _names(at: Address, port: int) -> frozenset[str]:
    """What a browser may call the page: its address, and this computer's own names for itself."""
    names = {_host(at), *(("localhost",) if at.is_loopback else ())}
    usual = {name for name in names if port == (80 if at.is_loopback else 443)}
    return frozenset({f"{name}:{port}" for name in names} | usual)


def record_named(path: Path) -> Path:
    """A record's folder that was named; raises BadInput where there is none."""
    from burnin.record.reader import read_run

    read_run(path)
    return path
