"""`burnin bench check`: what of a bench's set-up hides something, its cost, how to mend it."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Callable, Iterator, Sequence
from typing import cast

from burnin.card.files import BenchFiles, HostFiles
from burnin.card.merge import open_bench
from burnin.core import seams
from burnin.core.plain import plain
from burnin.core.verdict import EXIT_CODES, RunVerdict
from burnin.report.languages.catalogue import Catalogue, catalogue
from burnin.run.bench import OpenSource
from burnin.run.hindrances.check import hindrances
from burnin.run.hindrances.found import Hindrance
from burnin.run.hindrances.meanings import CheckLine
from burnin.run.rights.survey import survey

_INDENT = "    "


def check_bench(
    as_json: bool, echo: Callable[[str], None], *, simulated: str, language: str, width: int = 100
) -> int:
    """Everything that was found; the exit code of a pass, or of what is conditional."""
    trials = survey(simulated).trials
    files: BenchFiles = HostFiles()
    if simulated:
        files = cast(OpenSource, seams.member("benches", "simulated"))(simulated, 1, None, "").files
    cards = open_bench(files, this_machine=not simulated, simulated=bool(simulated)).cards()
    found = list(hindrances(files, cards, trials))
    if as_json:
        echo(json.dumps([plain(one) for one in found], indent=1, ensure_ascii=False))
    else:
        for line in hindrance_lines(found, catalogue(language), width):
            echo(line)
    return EXIT_CODES[RunVerdict.CONDITIONAL if found else RunVerdict.PASS]


def hindrance_lines(
    found: Sequence[Hindrance], words: Catalogue, width: int = 100
) -> Iterator[str]:
    """The bench's, then those of each card; each with its cost and what mends it."""
    if not found:
        yield words.say(CheckLine.NOTHING())
    for address in dict.fromkeys(one.address for one in found):
        yield address or words.say(CheckLine.BENCH())
        for one in found:
            if one.address == address:
                yield from _wrapped(words.say(one.what), "  ", width)
                yield from _wrapped(words.say(CheckLine.COSTS(what=one.costs)), _INDENT, width)
                yield from _wrapped(words.say(CheckLine.MEND(how=one.mend)), _INDENT, width)


def _wrapped(text: str, indent: str, width: int) -> list[str]:
    return textwrap.wrap(
        text, width, initial_indent=indent, subsequent_indent=indent + "  ",
        break_on_hyphens=False,
    )  # fmt: skip
