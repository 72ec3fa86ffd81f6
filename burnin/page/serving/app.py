"""What may be asked of the page: itself, its events, an answer to the open prompt, and a stop.

The pages of tickets and what may be asked of them are in `shop_pages.py`.
"""

from __future__ import annotations

import json
from collections.abc import AsyncIterator, Awaitable, Callable
from functools import cache
from pathlib import Path

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp

from burnin.core.meaning import Term
from burnin.page.assets import ASSETS, PAGES, page_html
from burnin.page.board_terms import BoardReason
from burnin.page.record_names import record_of
from burnin.page.serving.checks import Checked, Door, body_of, told
from burnin.page.serving.door_keeping import DoorKeeping
from burnin.page.serving.shop_pages import ShopPages
from burnin.page.serving.streams import Position, changes, events, news, position_of
from burnin.page.telling.round import tell_round
from burnin.page.terms import PageReason, PageTerm
from burnin.page.tickets.watch import TicketsWatch
from burnin.page.watching import Watching
from burnin.report.languages.catalogue import Catalogue, catalogue, language_names
from burnin.run.desk.calling import call
from burnin.run.desk.letters import Answer, Letter, Stop

Handler = Callable[[Request], Awaitable[Response]]


class Page:
    """The pages of one process: what they show, in which language unless asked for another."""

    def __init__(
        self, watching: Watching, door: Door, language: str, ended: Callable[[], bool]
    ) -> None:
        self._watching, self._language, self._ended = watching, language, ended
        self._keeping = DoorKeeping(door, language)
        self.tickets = TicketsWatch(watching.results)
        self._shop = ShopPages(self.tickets, watching.results, self._keeping, ended)

    def make_ready(self) -> None:
        """Word everything once, so that whoever asks first waits no longer than the others."""
        for language in language_names():
            for page in PAGES:
                _page(page, language)
            news(self._watching, catalogue(language), Position())

    def app(self) -> ASGIApp:
        """The whole of it, behind its checks."""
        pages = [Route(path, self._html_of(name)) for name, path in PAGES.items()]
        inner = Starlette(
            routes=[
                *pages,
                Route("/assets/{name}", self._asset),
                Route("/events", self._events),
                Route("/round/events", self._round_events),
                Route("/answer", self._answer, methods=["POST"]),
                Route("/stop", self._stop, methods=["POST"]),
                *self._shop.routes(),
            ],
            exception_handlers={404: self._no_such_place, 405: self._wrong_method},
        )
        return Checked(inner, self._keeping.door, catalogue(self._language))

    def _html_of(self, name: str) -> Handler:
        async def html(request: Request) -> Response:
            words = self._keeping.words(request)
            return Response(_page(name, words.language), media_type="text/html")

        return html

    async def _asset(self, request: Request) -> Response:
        kind = ASSETS.get(request.path_params["name"])
        if kind is None:
            return await self._no_such_place(request, Exception())
        return Response(_asset_bytes(request.path_params["name"]), media_type=kind)

    async def _events(self, request: Request) -> Response:
        """Of the newest record, or of the one that is named; of one that is not there, nothing."""
        name = request.query_params.get("record", "")
        folder = None
        if name and self._keeping.door.has_key(request, in_address=True):
            folder = await run_in_threadpool(record_of, self._watching.results, name)
            if folder is None:
                return await self._no_such_place(request, Exception())
            if not self._watching.has_room(folder):
                return told(BoardReason.TOO_MANY_RECORDS(), 503, self._keeping.words(request))
        has = position_of(request.headers.get("last-event-id", ""))
        return self._keeping.stream(
            request, lambda words: events(self._watching, words, has, self._ended, folder)
        )

    async def _round_events(self, request: Request) -> Response:
        return self._keeping.stream(request, self._round)

    async def _round(self, words: Catalogue) -> AsyncIterator[bytes]:
        def tell() -> object:
            with watching.round() as found:
                return tell_round(found, words, watching.results)

        watching = self._watching
        with watching.round_shown():
            async for part in changes("round", watching.round_revision, tell, self._ended):
                yield part

    async def _answer(self, request: Request) -> Response:
        return await self._acts(request, _answer_in)

    async def _stop(self, request: Request) -> Response:
        return await self._acts(request, _stop_in)

    async def _acts(
        self, request: Request, letter_in: Callable[[dict[str, object]], Letter | None]
    ) -> Response:
        """Hand a letter to a run that a page shows, if whoever asks may."""
        words = self._keeping.words(request)
        refused = self._keeping.refuses_to_act(request)
        if refused is not None:
            return refused
        kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
        if kind != "application/json":
            return told(PageReason.NOT_JSON(), 415, words)
        body = await body_of(request, words)
        if isinstance(body, Response):
            return body
        content = _object(body)
        letter = None if content is None else letter_in(content)
        if content is None or letter is None:
            return told(PageReason.BAD_REQUEST(), 400, words)
        folder = self._watching.folder_of_run(content.get("run"))
        if folder is None:
            return told(PageReason.OTHER_RUN(), 409, words)
        return await self._handed(folder, letter, words)

    async def _handed(self, folder: Path, letter: Letter, words: Catalogue) -> Response:
        refused = await run_in_threadpool(call, folder, letter)
        if refused is not None:
            return told(refused, 409, words)
        done: Term = PageTerm.STOP_TAKEN() if isinstance(letter, Stop) else PageTerm.TAKEN()
        return JSONResponse({"told": words.say(done)})

    async def _no_such_place(self, request: Request, _: Exception) -> Response:
        return told(PageReason.NO_SUCH_PLACE(), 404, self._keeping.words(request))

    async def _wrong_method(self, request: Request, error: Exception) -> Response:
        headers = error.headers if isinstance(error, HTTPException) else None
        allowed = (headers or {}).get("Allow", "GET")
        why = PageReason.WRONG_METHOD(allowed=allowed)
        return told(why, 405, self._keeping.words(request), allow=allowed)


def _answer_in(content: dict[str, object]) -> Letter | None:
    number, text = content.get("prompt"), content.get("answer")
    if content.keys() != {"run", "prompt", "answer"} or not isinstance(text, str):
        return None
    if isinstance(number, bool) or not isinstance(number, int) or number < 1:
        return None
    return Answer(number, text)


def _stop_in(content: dict[str, object]) -> Letter | None:
    return Stop() if content.keys() == {"run"} else None


def _object(body: bytes) -> dict[str, object] | None:
    try:
        content = json.loads(body)
    except (ValueError, RecursionError):
        return None
    return content if isinstance(content, dict) else None


@cache
def _page(name: str, language: str) -> str:
    others = [code for code in language_names() if code != language]
    return page_html(name, catalogue(language), others[0] if others else "")


@cache
def _asset_bytes(name: str) -> bytes:
    return Path(__file__).parent.with_name("assets").joinpath(name).read_bytes()
