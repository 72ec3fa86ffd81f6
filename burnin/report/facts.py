"""Who, when, which card, and how the test was made."""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from dataclasses import dataclass

from burnin.record.reader import RecordData, number, table, text
from burnin.report.figures import (
    bytes_text,
    duration_text,
    figure,
    moment,
    moment_text,
    plain,
    with_unit,
)
from burnin.report.gaps import not_measured_reason
from burnin.report.titles import title_of, unit_of

_BENCH = ("operating_system", "kernel", "processor", "memory", "board")


@dataclass(frozen=True)
class Fact:
    """A label and its value, both plain text."""

    label: str
    value: str


def people(record: RecordData) -> tuple[Fact, ...]:
    """Who brought the card, who tested it, when."""
    ticket = table(record.facts, "ticket")
    started, ended = text(record.facts, "started_utc"), text(record.facts, "ended_utc")
    first, last = moment(started), moment(ended)
    took = duration_text((last - first).total_seconds()) if first and last else ""
    return _filled(
        ("Customer", text(ticket, "customer")),
        ("Card label", text(ticket, "card_label")),
        ("Ticket", text(ticket, "number")),
        ("Tested by", text(ticket, "technician")),
        ("Shop", text(ticket, "shop")),
        ("Tested on", moment_text(started) if started else ""),
        ("Run took", took),
    )


def card(record: RecordData) -> tuple[Fact, ...]:
    """What the card says of itself."""
    facts = table(record.facts, "card")

    def said(key: str) -> str:
        return "" if not_measured_reason(facts.get(key)) else text(facts, key)

    memory = number(facts.get("memory_bytes"))
    driver = " ".join(part for part in (said("driver"), said("driver_version")) if part)
    return _filled(
        ("Card", said("name") or _nameless(record)),
        ("Maker", said("vendor_name")),
        ("Numbers", _ids(facts)),
        ("Serial number", said("serial")),
        ("Memory", bytes_text(memory) if memory else ""),
        ("Firmware", said("firmware_version")),
        ("Driver", driver),
        ("Bus address", said("address")),
    )


def method(record: RecordData) -> tuple[Fact, ...]:
    """Profile, engine, bench and versions: what somebody needs to do it again."""
    facts = record.facts
    profile, engine, tool = table(facts, "profile"), table(facts, "engine"), table(facts, "tool")
    named = " · ".join(p for p in (text(profile, "title"), text(profile, "name")) if p)
    works = " · ".join(p for p in (text(engine, k) for k in ("name", "adapter", "driver")) if p)
    versions = ", ".join(f"{key} {value}" for key, value in tool.items() if isinstance(value, str))
    scenario = text(facts, "simulated_scenario")
    return (
        *_filled(
            ("Profile", named),
            ("Profile SHA-256", text(profile, "sha256")),
            ("Engine", works),
            ("Engine chosen", text(engine, "why")),
            ("Scenario", scenario),
            ("Guards", _guards(record)),
        ),
        *_promises(record),
        *_filled(
            ("Samples", _sampling(record)),
            ("Bench", ", ".join(_bench(record))),
            ("Made with", versions),
        ),
    )


def _promises(record: RecordData) -> Iterable[Fact]:
    """What a stage said before it started, the last time that it did."""
    said = {row.stage: plain(text(row.detail, "text"), 400) for row in record.events("Promised")}
    return (
        Fact(f"Before check {plain(stage.partition('-')[0], 10)}", told)
        for stage, told in said.items()
        if told
    )


def _filled(*pairs: tuple[str, str]) -> tuple[Fact, ...]:
    return tuple(Fact(label, plain(value)) for label, value in pairs if plain(value))


def _nameless(record: RecordData) -> str:
    """A card that does not tell its name, or no card at all, in the record's own words."""
    if table(record.facts, "card"):
        return "a card that does not tell its name"
    return text(record.facts, "card_text") or "none"


def _ids(facts: object) -> str:
    if not isinstance(facts, dict):
        return ""
    pairs = (("vendor_id", "device_id"), ("subsystem_vendor_id", "subsystem_id"))
    shown = []
    for names in pairs:
        ids = [facts.get(name) for name in names]
        if all(isinstance(i, int) and not isinstance(i, bool) for i in ids):
            shown.append(":".join(f"{i:04x}" for i in ids))
    return ", board ".join(shown)


def _guards(record: RecordData) -> str:
    guards = table(record.facts, "guards")
    parts = [
        f"{title_of(name)} {with_unit(figure(limit), unit_of(name))}"
        for name, value in guards.items()
        if "limit" in name and (limit := number(value)) is not None
    ]
    if guards.get("forecast") is True:
        parts.append("a temperature limit that the forecast sees ahead")
    return "; ".join(parts)


def _sampling(record: RecordData) -> str:
    moments = record.telemetry.elapsed_s
    if len(moments) < 2:
        return "none" if not moments else "1"
    gaps = sorted(later - sooner for sooner, later in itertools.pairwise(moments))
    return f"{len(moments):,}, one every {figure(round(gaps[len(gaps) // 2], 3))} s (median)"


def _bench(record: RecordData) -> Iterable[str]:
    bench = table(record.facts, "bench")
    for name, value in ((name, bench[name]) for name in _BENCH if name in bench):
        silent = not isinstance(value, str) or value.startswith("not measured")
        if not silent and value:
            yield f"{name.replace('_', ' ')} {value}"
