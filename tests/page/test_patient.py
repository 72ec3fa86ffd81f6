"""A connection whose other end stalls is ended: nobody reads, a head never comes to its end."""

from __future__ import annotations

import asyncio
import socket
from collections.abc import Awaitable, Callable

import pytest
import uvicorn
from starlette.types import Receive, Scope, Send

from burnin.page.serving import patient

Client = Callable[[socket.socket], Awaitable[None]]
GONE_S = 30.0
"""Far longer than the patched limits: only a connection that is never ended takes as long."""


class Endless:
    """Sends without end until the other end is gone."""

    def __init__(self) -> None:
        self.gone = asyncio.Event()

    async def __call__(self, _: Scope, receive: Receive, send: Send) -> None:
        await receive()
        left = asyncio.ensure_future(receive())
        await send({"type": "http.response.start", "status": 200, "headers": []})
        while not left.done():
            sending = send({"type": "http.response.body", "body": b"x" * 65536, "more_body": True})
            both = [left, asyncio.ensure_future(sending)]
            await asyncio.wait(both, return_when=asyncio.FIRST_COMPLETED)
        self.gone.set()


async def beside(app: Endless, client: Client) -> None:
    """The client's work while a server with our connections serves the app."""
    config = uvicorn.Config(
        app, http=patient.Patient, ws="none", lifespan="off", log_config=None, access_log=False
    )
    server = uvicorn.Server(config)
    with socket.create_server(("127.0.0.1", 0)) as listening:
        serving = asyncio.ensure_future(server.serve(sockets=[listening]))
        with socket.socket() as connection:
            connection.setblocking(False)
            await asyncio.get_running_loop().sock_connect(connection, listening.getsockname())
            await client(connection)
        server.should_exit = True
        server.force_exit = True
        await serving


@pytest.fixture(autouse=True)
def _short(monkeypatch: pytest.MonkeyPatch) -> None:
    for name, seconds in (("HEAD_S", 0.2), ("UNREAD_S", 0.2), ("_LOOK_EVERY_S", 0.05)):
        monkeypatch.setattr(patient, name, seconds)


def test_a_reader_who_does_not_read_is_left() -> None:
    async def all_of_it() -> None:
        app = Endless()

        async def client(connection: socket.socket) -> None:
            request = b"GET / HTTP/1.1\r\nHost: page\r\n\r\n"
            await asyncio.get_running_loop().sock_sendall(connection, request)
            await asyncio.wait_for(app.gone.wait(), GONE_S)

        await beside(app, client)

    asyncio.run(all_of_it())


@pytest.mark.parametrize("begin", [b"", b"GET / HTTP/1.1\r\nHost: pa"])
def test_a_head_that_never_ends_is_left(begin: bytes) -> None:
    async def client(connection: socket.socket) -> None:
        loop = asyncio.get_running_loop()
        await loop.sock_sendall(connection, begin)
        try:
            rest = await asyncio.wait_for(loop.sock_recv(connection, 100), GONE_S)
        except ConnectionResetError:
            return
        assert rest == b""

    async def all_of_it() -> None:
        await beside(Endless(), client)

    asyncio.run(all_of_it())
