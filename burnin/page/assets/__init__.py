"""What a browser is given: one frame with a page each in it, two styles, our own scripts.

Nothing is fetched from elsewhere. A page is worded when it is made; scripts know no word. The plot
is drawn by our own `plot.js`; `source.js` is what all pages share.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import TYPE_CHECKING

from burnin.core.meaning import TermCode
from burnin.page.board_terms import BoardTerm, RoundTerm, TicketTerm
from burnin.page.terms import PageTerm
from burnin.report.languages.catalogue import Catalogue
from burnin.ticket.intake.photos import MOST_BYTES

if TYPE_CHECKING:
    from jinja2 import Environment

PAGES: Mapping[str, str] = {"run": "/", "round": "/round", "board": "/board", "ticket": "/ticket"}
"""Where each page is, by its name."""
_MODULES = {
    "run": ("source", "prompt", "plot"),
    "round": ("source", "prompt"),
    "board": ("source",),
    "ticket": ("source", "board"),
}
"""What each page's own script takes from others, so that all are asked for at once."""
ASSETS = {
    "page.css": "text/css",
    "board.css": "text/css",
    "icon.svg": "image/svg+xml",
    "source.js": "text/javascript",
    "prompt.js": "text/javascript",
    "plot.js": "text/javascript",
    **{f"{name}.js": "text/javascript" for name in PAGES},
}


@cache
def _environment() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    return Environment(
        loader=PackageLoader("burnin.page", "assets"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def page_html(name: str, words: Catalogue, other_language: str) -> str:
    """A page without any value: what it shows comes with its events."""
    return _environment().get_template(f"{name}.html.j2").render(
        page=name,
        address=PAGES[name],
        modules=_MODULES[name],
        language=words.language,
        other_language=other_language,
        t=_said(PageTerm, words),
        b=_said(BoardTerm, words),
        k=_said(TicketTerm, words),
        r=_said(RoundTerm, words),
        photo_told=words.say(TicketTerm.PHOTO_TOLD(most_mib=MOST_BYTES >> 20)),
    )


def _said(terms: type[TermCode], words: Catalogue) -> dict[str, str]:
    """What needs no value, by the names of its terms in lower case."""
    return {term.name.lower(): words.say(term()) for term in terms if not term.fields}
