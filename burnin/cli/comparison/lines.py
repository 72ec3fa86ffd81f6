"""A comparison of records on the terminal: what matters, what it rests on, then the table."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from burnin.cli.comparison.table import table_of
from burnin.cli.ticket_terms import ComparisonLine
from burnin.core.meaning import Term
from burnin.core.reading import Reading
from burnin.report.explanation import claim_sentence
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.numbers import figure
from burnin.report.languages.values import value_text, with_unit
from burnin.ticket.comparison.comparison import Comparison
from burnin.ticket.comparison.findings import MOST, Finding
from burnin.ticket.comparison.meanings import ComparedTerm, Direction
from burnin.ticket.comparison.rows import Row

_DIRECTIONS: dict[str, tuple[Direction, Direction]] = {
    "°C": (Direction.WARMER, Direction.COOLER),
    "lanes": (Direction.WIDER, Direction.NARROWER),
    **dict.fromkeys(("GT/s", "GB/s", "rpm", "MHz", "1/s"), (Direction.FASTER, Direction.SLOWER)),
}


def comparison_lines(
    found: Comparison, words: Catalogue, *, width: int = 80, all_rows: bool = False
) -> Iterator[str]:
    """What matters in at most five lines of sense, each wrapped to the width; then the table."""
    yield from textwrap.wrap(words.say(_heading(found)), width, break_on_hyphens=False)
    for note in found.notes:
        yield from _wrapped(words.say(note), width, "! ")
    if not any(one.matters for one in found.findings) and not found.stages_not_reached:
        weighed = any(row.spread is not None for row in found.rows)
        none = ComparisonLine.NOTHING_MATTERS if weighed else ComparisonLine.NO_VERDICT_DIFFERS
        yield from _wrapped(words.say(none()), width, "= ")
    for number, one in enumerate(found.findings[:MOST], start=1):
        yield from _wrapped(finding_text(one, words), width, f"{number} ")
    if len(found.findings) > MOST:
        more = ComparisonLine.MORE_FINDINGS(count=len(found.findings) - MOST)
        yield from _wrapped(words.say(more), width, "  ")
    yield from _wrapped(" ".join(words.say(one) for one in found.basis), width, "  ")
    yield ""
    yield from table_of(found, words, width, all_rows=all_rows)


def finding_text(found: Finding, words: Catalogue) -> str:
    """One finding: the reading that tells most, which way, how far, how judged, likely why."""
    row = found.lead
    values = ComparedTerm.VALUES(
        reading=row.reading,
        value=value_text(row.own, words) or words.word("not measured"),
        other_value=value_text(row.other, words) or words.word("not measured"),
    )
    parts = [words.say(part) for part in _parts(found, words)]
    text = f"{words.stage(row.kind)}: {', '.join((words.say(values), *parts))}."
    if found.more:
        also = ComparedTerm.ALSO(
            readings=tuple(more.reading for more in found.more[:2]),
            more_count=len(found.more),
        )
        text += f" {words.say(also)}"
    if found.likely is not None:
        claim = claim_sentence(found.likely.claim, words).rstrip(".?")
        sure = found.likely.probability
        told = ComparedTerm.POINTS_TO(cause=claim)
        if sure is not None:
            # No probability is told as more certain than a model can be.
            told = ComparedTerm.LIKELY(percent=min(99.0, 100.0 * sure), cause=claim)
        text += f" {words.say(told)}"
    return text


def direction_of(row: Row, words: Catalogue) -> Term | None:
    """Which way a value differs, and by how much; None for words."""
    if not row.difference:
        return None
    unit = row.own.unit
    up, down = _DIRECTIONS.get(unit, (Direction.MORE, Direction.LESS))
    size = words.number(figure(abs(row.difference), row.uncertainty or 0.0))
    by = with_unit(size, "K" if unit == "°C" else unit, words)
    return up(by=by) if row.difference > 0.0 else down(by=by)


def _parts(found: Finding, words: Catalogue) -> Iterator[Term]:
    row = found.lead
    direction = direction_of(row, words)
    if direction is not None:
        yield direction
        power = found.power
        if power is not None and power.difference is not None:
            own, other = _short(power.own, words), _short(power.other, words)
            if power.differs:
                yield ComparedTerm.OTHER_POWER(power=own, other_power=other)
            else:
                yield ComparedTerm.SAME_POWER(power=own)
    if row.far and row.spreads is not None:
        yield ComparedTerm.FAR(spreads=abs(row.spreads))
    elif not found.matters:
        yield ComparedTerm.BEYOND_UNCERTAINTY()
    if row.judged_otherwise and row.own.verdict and row.other.verdict:
        own_word, other_word = row.own.verdict.value, row.other.verdict.value
        yield ComparedTerm.JUDGED(verdict=own_word, other_verdict=other_word)


def _short(reading: Reading, words: Catalogue) -> str:
    """A value without its uncertainty, with the digits that it bears."""
    assert isinstance(reading.value, int | float)
    number = words.number(figure(reading.value, reading.uncertainty))
    return with_unit(number, reading.unit, words)


def _heading(found: Comparison) -> Term:
    run = found.record.run
    name, verdict = found.record.folder.name, run.shown_verdict
    if len(found.others) == 1:
        other = found.others[0]
        return ComparisonLine.BESIDE_RECORD(
            record=name,
            verdict=verdict,
            other=other.folder.name,
            other_verdict=other.run.shown_verdict,
        )
    count = len(found.beside)
    if found.others:
        return ComparisonLine.BESIDE_SEVERAL(record=name, verdict=verdict, records_count=count)
    return ComparisonLine.BESIDE_PASSES(
        record=name, verdict=verdict, records_count=count, profile=run.profile.name
    )


def _wrapped(text: str, width: int, first: str) -> Sequence[str]:
    indent = " " * len(first)
    return textwrap.wrap(
        text, width, initial_indent=first, subsequent_indent=indent, break_on_hyphens=False
    )
