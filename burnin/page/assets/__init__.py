"""What a browser is given: one page, one style, two scripts; nothing is fetched from elsewhere.

The page is worded when it is made; scripts know no word. The plot is drawn by our own `plot.js`.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from burnin.page.terms import PageTerm
from burnin.report.languages.catalogue import Catalogue

if TYPE_CHECKING:
    from jinja2 import Environment

ASSETS = {
    "page.css": "text/css",
    "icon.svg": "image/svg+xml",
    "page.js": "text/javascript",
    "plot.js": "text/javascript",
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


def page_html(words: Catalogue, other_language: str) -> str:
    """The page without any value: what a run tells comes with the events."""
    said = {
        term.name.lower(): words.say(term()) for term in PageTerm if not term.fields
    }
    template = _environment().get_template("page.html.j2")
    return template.render(t=said, language=words.language, other_language=other_language)
