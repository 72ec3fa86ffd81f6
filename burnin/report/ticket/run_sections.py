"""Sections of the internal sheet on the run that counts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from burnin.report.languages.catalogue import Catalogue
from burnin.report.sheet.content import SheetContent
from burnin.report.sheet.particulars import Fact
from burnin.report.ticket.tables import Section, Table, table_of


def run_sections(content: SheetContent, words: Catalogue) -> Iterator[Section]:
    """Everything that a run's own sheet says, and every reading of it."""

    def title(name: str) -> str:
        return words.label("internal", name)

    yield Section(title("record_damaged"), lines=content.flaws)
    yield Section(title("untyped"), lines=(content.untyped,) if content.untyped else ())
    yield Section(title("card"), facts=content.card)
    for guard in content.guards:
        yield Section(title("guard"), facts=guard.facts, lines=(guard.sentence,))
    yield Section(title("warnings"), lines=content.warnings)
    yield Section(title("forecasts"), lines=content.forecasts)
    stages = ((s.number, s.title, s.mark.word, s.reason) for s in content.stages)
    yield Section(
        title("stages"), table=table_of(("", "col_stage", "col_verdict", "col_why"), stages, words)
    )
    gaps = ((g.title, p.what, p.reason) for g in content.open_groups for p in g.points)
    yield Section(
        title("not_tested"), table=table_of(("col_sort", "col_what", "col_why"), gaps, words)
    )
    marks = _marks([r.rule for r in content.readings])
    columns = ("", "col_reading", "col_value", "col_must_be", "rule", "col_verdict", "col_why")
    readings = (
        (r.stage, r.title, r.value, r.limit, marks.get(r.rule, ""), r.mark.word, r.reason)
        for r in content.readings
    )
    yield Section(
        title("readings"),
        lines=tuple(f"{mark}: {rule}" for rule, mark in marks.items()),
        table=table_of(columns, readings, words),
    )
    failing = content.failing_words
    if failing is not None:
        yield Section(
            title("memory_wrong"),
            lines=(failing.summary,),
            table=Table(failing.header, failing.examples),
        )
    yield Section(
        title("how_tested"),
        facts=(
            *content.method,
            Fact(title("rule"), content.decision_rule),
            Fact(title("col_run"), content.run_id),
            Fact("readings.csv", content.fingerprint),
        ),
    )


def _marks(rules: Sequence[str]) -> dict[str, str]:
    """A letter for each rule, in the order in which they come; two letters from the 27th on."""
    told = [rule for rule in dict.fromkeys(rules) if rule]
    return {rule: _letters(number) for number, rule in enumerate(told)}


def _letters(number: int) -> str:
    first, second = divmod(number, 26)
    return (chr(ord("a") + first - 1) if first else "") + chr(ord("a") + second)
