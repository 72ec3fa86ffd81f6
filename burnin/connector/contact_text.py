"""What the tool says of contacts: for a person to read, or as JSON."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Callable, Sequence
from dataclasses import asdict, replace

from burnin.connector.contact_facts import ContactFacts, contact_facts
from burnin.connector.contact_map import Contact, contacts
from burnin.connector.effect import Effect
from burnin.connector.finding import (
    AnyContact,
    contacts_of_group,
    contacts_of_lane,
    find_contacts,
)
from burnin.connector.meanings import direction_term
from burnin.connector.measuring import CAUTION
from burnin.connector.other_connectors import Connector, connectors, source_texts
from burnin.connector.text_drawing import draw_text
from burnin.core.meaning import Meaning

_IN_FULL_AT_MOST = 12
"""More contacts than these, chosen by group, are told as a table."""
_LABEL = 11
_NARROWEST = 44
Say = Callable[[Meaning], str]
"""Words a meaning; whoever asks for the text hands it in with the language."""


def contacts_text(
    names: list[str], lane: int | None, group: str | None, as_json: bool, width: int, say: Say
) -> str:
    """Contacts by name (``B82``, ``8pin/4``, ``8pin``), of a lane (0 to 15), of a group.

    `lane` and `group` together narrow each other; with nothing chosen the edge is drawn. Text is
    at most `width` columns wide (no narrower than 44). Raises BadInput for what does not exist.
    """
    chosen = list(dict.fromkeys(contact for name in names for contact in find_contacts(name)))
    by_rule: list[AnyContact] = []
    if lane is not None:
        by_rule = list(contacts_of_lane(lane))
    if group is not None:
        of_group = contacts_of_group(group)
        by_rule = [c for c in of_group if lane is None or c in by_rule]
    chosen += [contact for contact in by_rule if contact not in chosen]
    everything = not names and lane is None and group is None
    if as_json:
        every = list(contacts().values()) if everything else chosen
        found = {
            "contacts": [_as_plain(contact_facts(contact), say) for contact in every],
            "connectors": [asdict(connectors()[key]) for key in _whole(names)],
        }
        return json.dumps(found, indent=1, ensure_ascii=False)
    width = max(width, _NARROWEST)
    if everything:
        return draw_text({}, width)
    if not chosen:
        return f"Lane {lane} has no contact of group {group}."
    on_edge = {c.name: "asked" for c in chosen if isinstance(c, Contact)}
    parts = [draw_text(on_edge, width)] if on_edge else []
    parts += [_connector(connectors()[key], width) for key in _whole(names)]
    if len(chosen) > _IN_FULL_AT_MOST:
        parts.append(_table(chosen, width))
    else:
        parts += _in_full(chosen, width, say)
        parts.append(_item("caution", CAUTION, width))
        parts.append(_sources(chosen, width))
    return "\n\n".join(parts)


def _whole(names: Sequence[str]) -> list[str]:
    """Connectors that were asked for as such."""
    return [name.strip().lower() for name in names if name.strip().lower() in connectors()]


def _item(label: str, text: str, width: int) -> str:
    return textwrap.fill(
        text, width, initial_indent=f"  {label:<{_LABEL}}", subsequent_indent=" " * (_LABEL + 2)
    )


def _as_plain(facts: ContactFacts, say: Say) -> dict[str, object]:
    carries = {"carries": say(facts.carries), "carries_code": facts.carries.as_plain()}
    return asdict(facts) | carries


def _in_full(chosen: Sequence[AnyContact], width: int, say: Say) -> list[str]:
    """One block a contact; contacts of which the same is known share a block."""
    blocks: list[tuple[ContactFacts, list[str]]] = []
    for contact in chosen:
        facts = contact_facts(contact)
        head, shared = f"{facts.name}  {facts.signal}", _shared(facts)
        alike = next((heads for known, heads in blocks if known == shared), None)
        if alike is None:
            blocks.append((shared, [head]))
        else:
            alike.append(head)
    return [
        f"{textwrap.fill(';  '.join(heads), width)}\n{_body(facts, width, say)}"
        for facts, heads in blocks
    ]


def _shared(facts: ContactFacts) -> ContactFacts:
    """What is known of a contact less what its block's head and drawing tell."""
    return replace(facts, name="", signal="", polarity="", beside=())


def _body(told: ContactFacts, width: int, say: Say) -> str:
    lane = f", lane {told.lane}" if told.lane is not None else ""
    lines = [
        _item("group", f"{told.group}{lane}; {say(direction_term(told.direction))}", width),
        _item("carries", say(told.carries), width),
    ]
    if told.pair:
        lines.append(_item("pair", " and ".join(told.pair), width))
    if told.short_finger:
        lines.append(_item("finger", "shorter than the others: last in, first out", width))
    if told.mix_up:
        lines.append(_item("mind", told.mix_up, width))
    before: Effect | None = None
    for effect in told.effects:
        if before is not None and replace(effect, state=before.state) == before:
            lines.append(_item(effect.state, "the same", width))
            continue
        before = effect
        lines.append(_item(effect.state, effect.text, width))
        lines.append(_item("", f"Shown by: {effect.shown()}.", width))
    for number, check in enumerate(told.measure):
        text = f"{check.do} Expect: {check.expect}. {check.caution}".rstrip()
        lines.append(_item("measure" if number == 0 else "then", text, width))
    lines.append(_item("source", ", ".join(told.sources), width))
    return "\n".join(lines)


def _sources(chosen: Sequence[AnyContact], width: int) -> str:
    keys = dict.fromkeys(key for contact in chosen for key in contact.sources)
    return "\n".join(_item(key, source_texts()[key], width) for key in keys)


def _table(chosen: Sequence[AnyContact], width: int) -> str:
    """Name, signal, lane, what an open contact does, which stage shows it."""
    rows = []
    for contact in chosen:
        told = contact_facts(contact)
        first = told.effects[0]
        lane = "" if told.lane is None else str(told.lane)
        rows.append(
            (told.name, told.signal, lane, first.brief, ", ".join(first.stages) or "no stage")
        )
    head = ("contact", "signal", "lane", "open contact", "shown by")
    widths = [max(len(row[i]) for row in [head, *rows]) for i in range(len(head))]
    lines = [
        "  ".join(cell.ljust(size) for cell, size in zip(row, widths, strict=True)).rstrip()
        for row in [head, *rows]
    ]
    return "\n".join(line if len(line) <= width else line[: width - 1] + "…" for line in lines)


def _connector(connector: Connector, width: int) -> str:
    lines = [connector.title]
    if connector.budget_w:
        budget = f"at most {connector.budget_w:g} W, {connector.current_a:g} A"
        lines.append(_item("budget", budget, width))
    for row in connector.sense:
        state = ", ".join(f"{signal} {how}" for signal, how in row.lines.items())
        told = row.meaning
        if row.running_w is not None and row.start_w is not None:
            start = f" ({row.start_w:g} W at power-up)" if row.start_w != row.running_w else ""
            told = f"{row.running_w:g} W{start}: {row.meaning}"
        lines.append(_item("sense", f"{state}: {told}", width))
    lines.append(_item("note", connector.note, width))
    lines += [_item(key, source_texts()[key], width) for key in connector.sources]
    return "\n".join(lines)
