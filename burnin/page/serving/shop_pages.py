"""What may be asked of the pages of tickets: their events, a photo small, a sheet, a new photo.

A ticket, a picture and a file are asked for by name, and a name is only looked up among those that
are known: none is ever a part of a path.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import FileResponse, Response
from starlette.routing import Route

from burnin.page.board_terms import BoardReason, BoardTerm, TicketTerm
from burnin.page.serving.checks import told
from burnin.page.serving.door_keeping import DoorKeeping
from burnin.page.serving.picture_upload import PictureUpload
from burnin.page.serving.streams import changes
from burnin.page.telling.board import tell_board
from burnin.page.telling.ticket import tell_ticket
from burnin.page.tickets.seen import TicketSeen
from burnin.page.tickets.watch import TicketsWatch
from burnin.report.languages.catalogue import Catalogue
from burnin.ticket.intake.photos import small_jpeg
from burnin.ticket.log.days_and_spans import utc_now

_MOST_DECODED = 2
"""Pictures that are made small at once: each takes a core and some memory for a moment."""
_MOST_KEPT = 64
"""Small pictures that are kept in memory, a few tens of kilobytes each."""


class ShopPages:
    """The board and the pages of tickets."""

    def __init__(
        self,
        tickets: TicketsWatch,
        results: Path,
        keeping: DoorKeeping,
        ended: Callable[[], bool],
    ) -> None:
        self._tickets, self._results = tickets, results
        self._keeping, self._ended = keeping, ended
        self._decoding = asyncio.Semaphore(_MOST_DECODED)
        self._small: dict[str, bytes] = {}
        self._upload = PictureUpload(tickets, keeping)

    def routes(self) -> list[Route]:
        """Where each of it is."""
        return [
            Route("/board/events", self._board_events),
            Route("/ticket/events", self._ticket_events),
            Route("/photo", self._photo),
            Route("/photo", self._upload.take, methods=["POST"]),
            Route("/file", self._file),
        ]

    async def _board_events(self, request: Request) -> Response:
        return self._keeping.stream(request, self._board)

    async def _board(self, words: Catalogue) -> AsyncIterator[bytes]:
        def tell() -> object:
            found = self._tickets
            return tell_board(found.tickets(), found.faults(), words, self._results, utc_now())

        with self._tickets.shown():
            async for part in changes("board", self._revision, tell, self._ended):
                yield part

    async def _ticket_events(self, request: Request) -> Response:
        name = request.query_params.get("ticket", "")
        return self._keeping.stream(request, lambda words: self._ticket(name, words))

    async def _ticket(self, name: str, words: Catalogue) -> AsyncIterator[bytes]:
        def tell() -> object:
            seen = self._tickets.ticket(name)
            if seen is None:
                fault = self._tickets.fault(name)
                gone = TicketTerm.NO_TICKET(number=name[:60])
                return {"gone": words.say(BoardTerm.NOT_READ(fault=fault) if fault else gone)}
            return {"gone": "", **tell_ticket(seen, words, utc_now())}

        with self._tickets.shown(name):
            async for part in changes("ticket", self._revision, tell, self._ended):
                yield part

    def _revision(self) -> int | None:
        return self._tickets.revision if self._tickets.looked else None

    async def _photo(self, request: Request) -> Response:
        """A photo of a ticket small, and without what the camera wrote beside it."""
        refused = self._keeping.refuses_to_tell(request)
        if refused is not None:
            return refused
        seen, name = self._seen(request), request.query_params.get("photo", "")
        photos = () if seen is None else seen.ticket.photos
        photo = next((one for one in photos if one.file == name == Path(name).name), None)
        if seen is None or photo is None:
            return self._nothing(request)
        small = self._small.get(photo.sha256)
        if small is None:
            async with self._decoding:
                small = await run_in_threadpool(small_jpeg, seen.ticket, photo)
        if small is None:
            return self._nothing(request)
        self._small[photo.sha256] = small
        while len(self._small) > _MOST_KEPT:
            self._small.pop(next(iter(self._small)))
        return Response(small, media_type="image/jpeg")

    async def _file(self, request: Request) -> Response:
        """A sheet, to be kept: it is never shown at the address of the pages."""
        refused = self._keeping.refuses_to_tell(request)
        if refused is not None:
            return refused
        seen = self._seen(request)
        path = None if seen is None else _file_of(seen, request)
        if path is None or not path.is_file():
            return self._nothing(request)
        return FileResponse(path, media_type="application/octet-stream", filename=path.name)

    def _seen(self, request: Request) -> TicketSeen | None:
        return self._tickets.ticket(request.query_params.get("ticket", ""))

    def _nothing(self, request: Request) -> Response:
        return told(BoardReason.NO_SUCH_FILE(), 404, self._keeping.words(request))


def _file_of(seen: TicketSeen, request: Request) -> Path | None:
    above, name = request.query_params.get("of", ""), request.query_params.get("file", "")
    if above == seen.name:
        return seen.handed_over.get(name)
    run = next((one for one in seen.runs if one.name == above), None)
    return None if run is None else run.files.get(name)
