"""Who, when, which card, and how the test was made."""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from dataclasses import dataclass

from burnin.core.clock import moment_of
from burnin.core.reading import NotMeasured
from burnin.record.reader import Record
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.moments import run_time
from burnin.report.languages.numbers import figure
from burnin.report.languages.one_line import one_line
from burnin.report.languages.units import unit_of
from burnin.report.languages.values import bytes_text, quantity
from burnin.report.sheet.journal_details import number_at
from burnin.run.proven.telling import shown_term
from burnin.run.reasons import resumed

_MOST = 300
_BENCH = ("operating_system", "kernel", "processor", "memory", "board")


@dataclass(frozen=True)
class Fact:
    """A label and its value, both plain text."""

    label: str
    value: str


def people(record: Record, words: Catalogue) -> tuple[Fact, ...]:
    """Who brought the card, who tested it, when."""
    run, ticket = record.run, record.run.ticket
    first, last = moment_of(run.started_utc), moment_of(run.ended_utc)
    took = run_time((last - first).total_seconds()) if first and last else ""
    return _filled(
        words,
        ("customer", ticket.customer),
        ("card_label", ticket.card_label),
        ("ticket", ticket.number),
        ("tested_by", ticket.technician),
        ("shop", ticket.shop),
        ("tested_on", words.moment(run.started_utc) if run.started_utc else ""),
        ("took", took),
        ("interrupted", words.say(resumed(run.resumed))),
    )


def card(record: Record, words: Catalogue) -> tuple[Fact, ...]:
    """What the card says of itself."""
    found = record.run.card
    if found is None:
        absent = words.say(record.run.card_absent) or words.label("people", "no_card")
        return _filled(words, ("card", absent))
    driver = " ".join(part for part in (_told(found.driver), _told(found.driver_version)) if part)
    memory = found.memory_bytes
    return _filled(
        words,
        ("card", _told(found.name) or words.label("people", "nameless")),
        ("maker", _told(found.vendor_name)),
        ("numbers", _ids(record, words)),
        ("serial", _told(found.serial)),
        ("memory", "" if isinstance(memory, NotMeasured) else bytes_text(memory, words)),
        ("firmware", _told(found.firmware_version)),
        ("driver", driver),
        ("address", found.address),
    )


def method(record: Record, words: Catalogue) -> tuple[Fact, ...]:
    """Profile, engine, bench and versions: what somebody needs to do it again."""
    run = record.run
    profile, engine = run.profile, run.engine
    named = " · ".join(p for p in (words.word(profile.title), profile.name) if p)
    works = " · ".join(p for p in (engine.name, engine.adapter, engine.driver) if p)
    return (
        *_filled(
            words,
            ("profile", named),
            ("profile_sha256", profile.sha256),
            ("engine", works),
            ("engine_why", words.say(engine.why)),
            ("scenario", _scenario(record, words)),
            ("guards", _guards(record, words)),
        ),
        *_promises(record, words),
        *_filled(
            words,
            ("samples", _sampling(record, words)),
            ("bench", ", ".join(_bench(record, words))),
            ("bench_shown", _bench_shown(record, words)),
            ("made_with", ", ".join(f"{key} {value}" for key, value in run.tool.items())),
        ),
    )


def _promises(record: Record, words: Catalogue) -> Iterable[Fact]:
    """What a stage said before it started, the last time that it did."""
    said = {e.stage: words.says(e.notes("promise")) for e in record.events("Promised")}
    for stage, told in said.items():
        if told:
            number = one_line(stage.partition("-")[0], 10)
            label = words.label("people", "before_check").format(number=number)
            yield Fact(label, one_line(told, 600))


def _told(value: str | NotMeasured) -> str:
    return "" if isinstance(value, NotMeasured) else value


def _filled(words: Catalogue, *pairs: tuple[str, str]) -> tuple[Fact, ...]:
    shown = ((label, one_line(value, _MOST)) for label, value in pairs)
    return tuple(Fact(words.label("people", label), value) for label, value in shown if value)


def _ids(record: Record, words: Catalogue) -> str:
    found = record.run.card
    if found is None:
        return ""
    shown = [f"{found.vendor_id:04x}:{found.device_id:04x}"]
    board = (found.subsystem_vendor_id, found.subsystem_id)
    if all(isinstance(number, int) for number in board):
        named = ":".join(f"{number:04x}" for number in board)
        shown.append(f"{words.label('people', 'board')} {named}")
    return ", ".join(shown)


def _guards(record: Record, words: Catalogue) -> str:
    guards = record.run.guards
    parts = [
        f"{words.reading(name)} {quantity(limit, unit_of(name), words)}"
        for name in guards
        if "limit" in name and (limit := number_at(guards, name)) is not None
    ]
    if guards.get("forecast") is True:
        parts.append(words.label("people", "forecast_guard"))
    return "; ".join(parts)


def _scenario(record: Record, words: Catalogue) -> str:
    run = record.run
    if not run.simulated_scenario:
        return ""
    told = words.label("people", "scenario_told")
    return told.format(scenario=run.simulated_scenario, seed=run.simulated_seed)


def _bench_shown(record: Record, words: Catalogue) -> str:
    """What the card's slot had shown with known-good cards before this run."""
    shown = record.run.bench_shown
    return "" if shown is None or record.run.card is None else words.say(shown_term(shown))


def _sampling(record: Record, words: Catalogue) -> str:
    moments = record.series.elapsed_s
    if len(moments) < 2:
        return words.label("people", "no_samples") if not moments else "1"
    gaps = sorted(later - sooner for sooner, later in itertools.pairwise(moments))
    return words.label("people", "sampling").format(
        count=words.number(f"{len(moments):,}"),
        every_s=words.number(figure(round(gaps[len(gaps) // 2], 3))),
    )


def _bench(record: Record, words: Catalogue) -> Iterable[str]:
    bench = record.run.bench
    for name, value in ((name, bench[name]) for name in _BENCH if name in bench):
        if isinstance(value, str) and value:
            yield f"{words.label('people', f'bench_{name}')} {value}"
