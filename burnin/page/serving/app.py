"""What may be asked of the page: itself, its events, an answer to the open prompt, and a stop."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Awaitable, Callable
from functools import cache
from pathlib import Path

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response, StreamingResponse
from starlette.routing import Route
from starlette.types import ASGIApp

from burnin.core.meaning import Term
from burnin.page.assets import ASSETS, page_html
from burnin.page.serving.checks import Checked, Door, body_of, told
from burnin.page.serving.streams import MOST_STREAMS, Position, events, news, position_of
from burnin.page.terms import PageReason, PageTerm
from burnin.page.watching import Watching
from burnin.report.languages.catalogue import Catalogue, catalogue, language_names
from burnin.run.desk.calling import call
from burnin.run.desk.letters import Answer, Letter, Stop

Handler = Callable[[Request], Awaitable[Response]]


class Page:
    """The page of one process: what it shows, in which language unless asked for another."""

    def __init__(
        self, watching: Watching, door: Door, language: str, ended: Callable[[], bool]
    ) -> None:
        self._watching, self._door, self._language = watching, door, language
        self._ended = ended
        self._open_streams = 0

    def make_ready(self) -> None:
        """Word everything once, so that whoever asks first waits no longer than the others."""
        for language in language_names():
            _page(language)
            news(self._watching, catalogue(language), Position())

    def app(self) -> ASGIApp:
        """The whole of it, behind its checks."""
        inner = Starlette(
            routes=[
                Route("/", self._html),
                Route("/assets/{name}", self._asset),
                Route("/events", self._events),
                Route("/answer", self._answer, methods=["POST"]),
                Route("/stop", self._stop, methods=["POST"]),
            ],
            exception_handlers={404: self._no_such_place, 405: self._wrong_method},
        )
        return Checked(inner, self._door, catalogue(self._language))

    def _words(self, request: Request) -> Catalogue:
        asked = request.query_params.get("language", "")
        return catalogue(asked if asked in language_names() else self._language)

    async def _html(self, request: Request) -> Response:
        return Response(_page(self._words(request).language), media_type="text/html")

    async def _asset(self, request: Request) -> Response:
        kind = ASSETS.get(request.path_params["name"])
        if kind is None:
            return told(PageReason.NO_SUCH_PLACE(), 404, self._words(request))
        return Response(_asset_bytes(request.path_params["name"]), media_type=kind)

    async def _events(self, request: Request) -> Response:
        words = self._words(request)
        if not self._door.has_key(request, in_address=True):
            return _no_key(words)
        if request.method != "GET":
            return Response(media_type="text/event-stream")
        if self._open_streams >= MOST_STREAMS:
            why = PageReason.TOO_MANY(most_count=MOST_STREAMS)
            return told(why, 503, words, retry_after="5")
        has = position_of(request.headers.get("last-event-id", ""))
        return _Counted(self, events(self._watching, words, has, self._ended))

    def stream_opens(self, by: int) -> None:
        """One stream more, or one less."""
        self._open_streams += by

    async def _answer(self, request: Request) -> Response:
        return await self._acts(request, _answer_in)

    async def _stop(self, request: Request) -> Response:
        return await self._acts(request, _stop_in)

    async def _acts(
        self, request: Request, letter_in: Callable[[dict[str, object]], Letter | None]
    ) -> Response:
        """Hand a letter to the run that the page shows, if whoever asks may."""
        words = self._words(request)
        if self._door.is_other_site(request.headers, acts=True):
            return told(PageReason.OTHER_SITE(), 403, words)
        if not self._door.has_key(request, in_address=False):
            return _no_key(words)
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
        with self._watching.seen() as seen:
            folder, run = seen.folder, seen.so_far.run
        if folder is None or run is None or content.get("run") != run.run_id:
            return told(PageReason.OTHER_RUN(), 409, words)
        return await self._handed(folder, letter, words)

    async def _handed(self, folder: Path, letter: Letter, words: Catalogue) -> Response:
        refused = await run_in_threadpool(call, folder, letter)
        if refused is not None:
            return told(refused, 409, words)
        done: Term = PageTerm.STOP_TAKEN() if isinstance(letter, Stop) else PageTerm.TAKEN()
        return JSONResponse({"told": words.say(done)})

    async def _no_such_place(self, request: Request, _: Exception) -> Response:
        return told(PageReason.NO_SUCH_PLACE(), 404, self._words(request))

    async def _wrong_method(self, request: Request, error: Exception) -> Response:
        headers = error.headers if isinstance(error, HTTPException) else None
        allowed = (headers or {}).get("Allow", "GET")
        why = PageReason.WRONG_METHOD(allowed=allowed)
        return told(why, 405, self._words(request), allow=allowed)


class _Counted(StreamingResponse):
    """A stream of events that is counted while it is open, however it ends."""

    def __init__(self, page: Page, content: object) -> None:
        super().__init__(content, media_type="text/event-stream")  # type: ignore[arg-type]
        self._page = page

    async def __call__(self, scope: object, receive: object, send: object) -> None:
        self._page.stream_opens(1)
        try:
            await super().__call__(scope, receive, send)  # type: ignore[arg-type]
        except asyncio.CancelledError:
            raise
        finally:
            self._page.stream_opens(-1)


def _no_key(words: Catalogue) -> Response:
    return told(PageReason.NO_KEY(), 401, words, www_authenticate="Bearer")


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
def _page(language: str) -> str:
    others = [code for code in language_names() if code != language]
    return page_html(catalogue(language), others[0] if others else "")


@cache
def _asset_bytes(name: str) -> bytes:
    return Path(__file__).parent.with_name("assets").joinpath(name).read_bytes()
