"""A photo that comes from a phone: who may send it, how large, how slowly; then onto the ticket.

It goes the same way as `burnin ticket photo` has it: the same check that it is a picture, the same
private folder, the same lock of the log.
"""

from __future__ import annotations

import asyncio
from urllib.parse import unquote

from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect, Request
from starlette.responses import JSONResponse, Response

from burnin.core.errors import BurninError
from burnin.core.meaning import Reason
from burnin.core.system import ours
from burnin.page.board_terms import BoardReason, TicketTerm
from burnin.page.serving.checks import SIZE, told
from burnin.page.serving.door_keeping import DoorKeeping
from burnin.page.terms import PageReason
from burnin.page.tickets.watch import TicketsWatch
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.one_line import one_line
from burnin.ticket.intake.photos import MOST_BYTES, add_picture
from burnin.ticket.log.store import ticket_at
from burnin.ticket.log.whole_ticket import WholeTicket

MOST_AT_ONCE = 2
"""Pictures that are taken at once: each is in memory until it is on the ticket."""
PART_S, WHOLE_S = 10.0, 180.0
"""Longest that a part of a picture, and all of it, may take: over a poor wireless network some."""
_MOST_NAME, _MOST_NOTE = 120, 500


class PictureUpload:
    """Takes one picture a request."""

    def __init__(self, tickets: TicketsWatch, keeping: DoorKeeping) -> None:
        self._tickets, self._keeping = tickets, keeping
        self._under_way = 0

    async def take(self, request: Request) -> Response:
        """Put what is sent on the ticket that is named."""
        words = self._keeping.words(request)
        refused = self._keeping.refuses_to_act(request)
        if refused is not None:
            return refused
        if not request.headers.get("content-type", "").lower().startswith("image/"):
            return told(BoardReason.NOT_A_PICTURE(), 415, words)
        name = request.query_params.get("ticket", "")
        seen, fault = self._tickets.ticket(name), self._tickets.fault(name)
        if seen is None and fault:
            return told(BoardReason.NOT_KEPT(words=fault), 409, words)
        if seen is None:
            return told(BoardReason.NO_SUCH_TICKET(), 404, words)
        if seen.ticket.closed:
            return told(BoardReason.TICKET_CLOSED(number=seen.ticket.number), 409, words)
        if self._under_way >= MOST_AT_ONCE:
            return told(BoardReason.TOO_MANY_PICTURES(), 503, words, retry_after="5")
        self._under_way += 1
        try:
            content = await _picture_in(request, words)
            if isinstance(content, Response):
                return content
            return await self._kept(seen.ticket, content, request, words)
        finally:
            self._under_way -= 1

    async def _kept(
        self, ticket: WholeTicket, content: bytes, request: Request, words: Catalogue
    ) -> Response:
        name = _typed(request, "burnin-photo-name", _MOST_NAME).replace("\\", "/").split("/")[-1]
        note = _typed(request, "burnin-photo-note", _MOST_NOTE)

        def keep() -> None:
            fresh = ticket_at(ticket.folder) or ticket  # whatever came meanwhile
            add_picture(fresh, content, name or "photo", note=note)

        try:
            await run_in_threadpool(keep)
        except BurninError as error:
            return told(_why(error), 409, words)
        except OSError as error:
            return told(ours(error).reason, 507, words)
        self._tickets.look_soon()
        return JSONResponse({"told": words.say(TicketTerm.PHOTO_TAKEN())})


def _why(error: BurninError) -> Reason:
    told_so = error.told
    return told_so if isinstance(told_so, Reason) else BoardReason.NOT_KEPT(words=str(error))


def _typed(request: Request, header: str, most: int) -> str:
    """What somebody typed, out of a header in which it stands percent-encoded (RFC 3986)."""
    return one_line(unquote(request.headers.get(header, ""), errors="replace"), most)


async def _picture_in(request: Request, words: Catalogue) -> bytes | Response:
    """What was sent, or the refusal of what is too large, too slow or broken off."""
    size = request.headers.get("content-length", "")
    too_large = PageReason.TOO_LARGE(most_bytes=MOST_BYTES)
    if not SIZE.fullmatch(size) or int(size) > MOST_BYTES:
        return told(too_large, 413 if size else 411, words)
    found, parts = bytearray(), request.stream()
    try:
        async with asyncio.timeout(WHOLE_S):
            while True:
                async with asyncio.timeout(PART_S):
                    part = await anext(parts, None)
                if part is None:
                    return bytes(found)
                found += part
                if len(found) > MOST_BYTES:
                    return told(too_large, 413, words)
    except (TimeoutError, ClientDisconnect):
        return told(PageReason.TOO_SLOW(), 408, words)
