"""Templates of the pages and of the paper sheet, and the environment that fills them."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from jinja2 import Environment


@cache
def environment() -> Environment:
    """One environment for all pages, as it keeps the templates that it has read; it
    escapes every value and refuses names that are not given."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    return Environment(
        loader=PackageLoader("burnin.report", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )


def template_path(name: str) -> Path:
    """Where a template lies."""
    return Path(__file__).with_name(name)
