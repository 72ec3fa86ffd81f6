"""A reading's value and limit as a person reads them, in a language."""

from __future__ import annotations

import math

from burnin.core.count_readings import count_limit
from burnin.core.meaning import Meaning
from burnin.core.reading import Reading
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.numbers import (
    MANY_BYTES,
    bytes_figure,
    figure,
    uncertainty_text,
)
from burnin.report.languages.one_line import one_line

_JOINED = "\u00a0"
"""A blank that no line break parts."""


def value_text(reading: Reading, words: Catalogue) -> str:
    """A reading's value with its uncertainty and unit; bytes in GiB or MiB when many."""
    value, unit = reading.value, reading.unit
    if value is None:
        return ""
    if isinstance(value, str):
        return one_line(_word(value, reading.reason, words), 80)
    if unit == "bytes" and value >= MANY_BYTES:
        return bytes_text(value, words)
    number = words.number(figure(value, reading.uncertainty))
    if 0.0 < reading.uncertainty < math.inf:
        own = words.number(uncertainty_text(reading.uncertainty))
        number += f"{_JOINED}±{_JOINED}{own}"
    return with_unit(number, unit, words)


def limit_text(reading: Reading, words: Catalogue) -> str:
    """What was allowed, empty for a value that nothing judges."""
    if reading.allowed:
        named = [words.word(word) for word in reading.allowed]
        return one_line(f" {words.word('or')} ".join(named), 80)
    limit = reading.limit
    if limit is None or (limit.lower is None and limit.upper is None):
        return ""
    counted = count_limit(reading)
    if counted is not None:
        return words.say(counted)
    if limit.lower is not None and limit.lower == limit.upper:
        return f"={_JOINED}{_bound(limit.lower, reading.unit, words)}"
    bounds = ((limit.lower, "≥"), (limit.upper, "≤"))
    parts = [
        f"{sign}{_JOINED}{_bound(bound, reading.unit, words)}"
        for bound, sign in bounds
        if bound is not None
    ]
    return f" {words.word('and')} ".join(parts)


def with_unit(number: str, unit: str, words: Catalogue) -> str:
    """A figure and its unit, joined so that a line break cannot part them."""
    shown = words.unit(unit)
    return f"{number}{_JOINED}{shown}" if shown else number


def quantity(value: float | None, unit: str, words: Catalogue) -> str:
    """A figure with its unit, empty for None."""
    return "" if value is None else with_unit(words.number(figure(value)), unit, words)


def bytes_text(count: float, words: Catalogue) -> str:
    """Bytes as GiB (2^30) or MiB (2^20)."""
    number, unit = bytes_figure(count)
    return with_unit(words.number(number), unit, words)


def is_told_by_reason(reading: Reading) -> bool:
    """Whether the value is the code of the reading's reason, which then says it with its data."""
    return reading.reason is not None and reading.value == reading.reason.code


def _word(value: str, reason: Meaning | None, words: Catalogue) -> str:
    """A word of a language; several are parted by commas, and a code is worded as well."""
    if reason is not None and value == reason.code:
        return words.say(reason)
    whole = words.word(value)
    if whole != value:
        return whole
    parts = value.split(", ")
    return ", ".join(words.template(p) if words.knows(p) else words.word(p) for p in parts)


def _bound(value: float, unit: str, words: Catalogue) -> str:
    if unit == "bytes" and value >= MANY_BYTES:
        return bytes_text(value, words)
    return quantity(value, unit, words)
