"""Who may ask for what: looked at before anything else is done, with the headers of every reply.

Status codes by RFC 9110: 421 for another host, 403 for another site, 401 without the key, 413, 414
and 408 for what is too large or too slow; 431 by RFC 6585. Origin: RFC 6454 and the WHATWG fetch
standard.
"""

from __future__ import annotations

import asyncio
import hmac
import re
from collections.abc import Mapping
from dataclasses import dataclass

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import ClientDisconnect, Request
from starlette.responses import JSONResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from burnin.core.meaning import Reason
from burnin.page.terms import PageReason
from burnin.report.languages.catalogue import Catalogue

SIZE = re.compile(r"\d{1,12}", re.ASCII)
"""A length in bytes that may be meant."""
MOST_ADDRESS_BYTES = 1024
MOST_HEAD_BYTES = 8192
MOST_BODY_BYTES = 2048
BODY_S = 5.0
"""Longest that the rest of a request may take after its head."""
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self';"
    " img-src 'self' blob:; base-uri 'none'; form-action 'none'; frame-ancestors 'none';"
    " require-trusted-types-for 'script'; trusted-types 'none'"
)
HEADERS: Mapping[str, str] = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
    "cache-control": "no-store",
}
_OWN_SITE = ("same-origin", "none")


@dataclass(frozen=True)
class Door:
    """Under which names the page is there (``host:port``), over what, and its key."""

    hosts: frozenset[str]
    scheme: str
    key: str

    def host_fits(self, headers: Headers) -> bool:
        """Whether exactly one of the page's own names is asked for."""
        named = headers.getlist("host")
        return len(named) == 1 and named[0].lower() in self.hosts

    def is_other_site(self, headers: Headers, *, acts: bool) -> bool:
        """Whether a site that is not the page asks; what `acts` must say that it is the page."""
        origins, sites = headers.getlist("origin"), headers.getlist("sec-fetch-site")
        if any(site not in _OWN_SITE for site in sites):
            return True
        ours = {f"{self.scheme}://{host}" for host in self.hosts}
        wrong = any(origin.lower() not in ours for origin in origins) or len(origins) > 1
        return wrong or (acts and not origins)

    def has_key(self, request: Request, *, in_address: bool) -> bool:
        """Whether the key came with the request (RFC 6750); `in_address`: as ``key=`` too.

        An event stream can have no header of its own; nothing here keeps addresses in a log.
        """
        told = request.headers.getlist("authorization")
        given = [text[7:] for text in told if text[:7].lower() == "bearer "]
        if in_address:
            given += request.query_params.getlist("key")
        return len(given) == 1 and hmac.compare_digest(given[0].encode(), self.key.encode())


class Checked:
    """Lets through what asks for one of the page's own names, and gives every reply its headers."""

    def __init__(self, app: ASGIApp, door: Door, words: Catalogue) -> None:
        self._app, self._door, self._words = app, door, words

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http":
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers[name] = value
            await send(message)

        headers = Headers(scope=scope)
        refused: Response | None = None
        if len(scope.get("raw_path") or b"") + len(scope["query_string"]) > MOST_ADDRESS_BYTES:
            refused = told(PageReason.TOO_LARGE(most_bytes=MOST_ADDRESS_BYTES), 414, self._words)
        elif sum(len(name) + len(value) for name, value in headers.raw) > MOST_HEAD_BYTES:
            refused = told(PageReason.TOO_LARGE(most_bytes=MOST_HEAD_BYTES), 431, self._words)
        elif not self._door.host_fits(headers):
            refused = told(PageReason.NOT_THIS_PAGE(), 421, self._words)
        elif self._door.is_other_site(headers, acts=False):
            refused = told(PageReason.OTHER_SITE(), 403, self._words)
        await (refused or self._app)(scope, receive, with_headers)


def told(why: Reason, status: int, words: Catalogue, **headers: str) -> Response:
    """A refusal in a sentence; the connection ends with it, whatever else was about to come."""
    kept = {name.replace("_", "-"): value for name, value in headers.items()}
    if status >= 400:
        kept["connection"] = "close"
    return JSONResponse({"told": words.say(why)}, status, kept)


async def body_of(request: Request, words: Catalogue) -> bytes | Response:
    """What was sent, or the refusal of what is too large, too slow or broken off."""
    size = request.headers.get("content-length", "0")
    if not SIZE.fullmatch(size) or int(size) > MOST_BODY_BYTES:
        return told(PageReason.TOO_LARGE(most_bytes=MOST_BODY_BYTES), 413, words)
    found = b""
    try:
        async with asyncio.timeout(BODY_S):
            async for part in request.stream():
                found += part
                if len(found) > MOST_BODY_BYTES:
                    return told(PageReason.TOO_LARGE(most_bytes=MOST_BODY_BYTES), 413, words)
    except (TimeoutError, ClientDisconnect):
        return told(PageReason.TOO_SLOW(), 408, words)
    return found
