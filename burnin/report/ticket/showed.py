"""What a stage showed, in one line of a customer's language.

Each kind of stage brings the parts of its line ([showed] of its words): ``{name}`` is a reading's
value and ``{name.limit}`` its limit, ``{name.gib}`` its bytes in GiB, ``{name.word}`` a state of
the cooling. A part is told only where every reading that it names was measured.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from burnin.core.reading import Reading, Verdict
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.numbers import figure
from burnin.report.languages.one_line import one_line

_PLACE = re.compile(r"\{([a-z0-9_]+)(?:\.([a-z]+))?\}")


def showed(kind: str, readings: Iterable[Reading], words: Catalogue) -> str:
    """What a kind of stage showed; empty where nothing of it was measured."""
    by_name = {reading.name: reading for reading in readings}
    parts = (_filled(template, by_name, words) for template in words.showed(kind))
    return "; ".join(part for part in parts if part)


def counted(name: str, value: int) -> Reading:
    """A count as a reading that passed, for a place of a line."""
    return Reading(name, float(value), "", verdict=Verdict.PASS)


def _filled(template: str, readings: Mapping[str, Reading], words: Catalogue) -> str:
    values: dict[str, str] = {}
    for name, part in _PLACE.findall(template):
        said = _value(readings.get(name), part, words)
        if not said:
            return ""
        values[f"{{{name}.{part}}}" if part else f"{{{name}}}"] = said
    return _PLACE.sub(lambda found: values[found.group(0)], template)


def _value(reading: Reading | None, part: str, words: Catalogue) -> str:
    if reading is None or reading.verdict is Verdict.NOT_MEASURED:
        return ""
    value, limit = reading.value, reading.limit
    if part == "limit":
        bound = None if limit is None else limit.lower if limit.upper is None else limit.upper
        return "" if bound is None else words.number(figure(bound))
    if part == "word":
        return _cooling(reading, words)
    if not isinstance(value, float):
        return "" if value is None or part == "gib" else one_line(words.word(value), 60)
    if part == "gib":
        return words.number(f"{value / (1 << 30):.4g}")
    return words.number(figure(value, reading.uncertainty))


def _cooling(reading: Reading, words: Catalogue) -> str:
    # What is only probable is for the shop; the customer reads what is known.
    if reading.verdict is Verdict.UNSURE or not isinstance(reading.value, str):
        return ""
    # A dry block that nobody judges: the loop was known to be missing.
    state = reading.value if reading.verdict else "no loop"
    return str(words.group("cooling").get(state) or one_line(words.word(state), 60))
