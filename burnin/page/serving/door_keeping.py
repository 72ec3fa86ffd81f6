"""What every place of the pages asks first: in which language, with the key, from this page."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable

from starlette.requests import Request
from starlette.responses import Response, StreamingResponse

from burnin.page.serving.checks import Door, told
from burnin.page.serving.streams import MOST_STREAMS
from burnin.page.terms import PageReason
from burnin.report.languages.catalogue import Catalogue, catalogue, language_names


class DoorKeeping:
    """Who gets in, what is answered to others, and how many streams are open at once."""

    def __init__(self, door: Door, language: str) -> None:
        self.door, self._language = door, language
        self._open_streams = 0

    def words(self, request: Request) -> Catalogue:
        """The language that is asked for, else that of the command."""
        asked = request.query_params.get("language", "")
        return catalogue(asked if asked in language_names() else self._language)

    def refuses_to_tell(self, request: Request) -> Response | None:
        """Why somebody is told nothing: they lack the key. It comes in a header alone."""
        if self.door.has_key(request, in_address=False):
            return None
        return no_key(self.words(request))

    def refuses_to_act(self, request: Request) -> Response | None:
        """Why nothing is done for somebody: another site asks, or they lack the key."""
        if self.door.is_other_site(request.headers, acts=True):
            return told(PageReason.OTHER_SITE(), 403, self.words(request))
        return self.refuses_to_tell(request)

    def stream(
        self, request: Request, content: Callable[[Catalogue], AsyncIterator[bytes]]
    ) -> Response:
        """A stream of events, or why there is none; its key may come in the address."""
        words = self.words(request)
        if not self.door.has_key(request, in_address=True):
            return no_key(words)
        if request.method != "GET":
            return Response(media_type="text/event-stream")
        if self._open_streams >= MOST_STREAMS:
            why = PageReason.TOO_MANY(most_count=MOST_STREAMS)
            return told(why, 503, words, retry_after="5")
        return _Counted(self, content(words))

    def stream_opens(self, by: int) -> None:
        """One stream more, or one less."""
        self._open_streams += by


class _Counted(StreamingResponse):
    """A stream of events that is counted while it is open, however it ends."""

    def __init__(self, keeping: DoorKeeping, content: AsyncIterator[bytes]) -> None:
        super().__init__(content, media_type="text/event-stream")
        self._keeping, self._content = keeping, content

    async def __call__(self, scope: object, receive: object, send: object) -> None:
        self._keeping.stream_opens(1)
        try:
            await super().__call__(scope, receive, send)  # type: ignore[arg-type]
        except asyncio.CancelledError:
            raise
        finally:
            self._keeping.stream_opens(-1)
            await self._content.aclose()  # type: ignore[attr-defined]


def no_key(words: Catalogue) -> Response:
    """The refusal of whoever lacks the key."""
    return told(PageReason.NO_KEY(), 401, words, www_authenticate="Bearer")
