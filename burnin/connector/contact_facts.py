"""All that is known of one contact, gathered as data."""

from __future__ import annotations

from dataclasses import dataclass

from burnin.connector.common_mistakes import COMMON_MISTAKES
from burnin.connector.contact_map import Contact, beside, is_short, twin
from burnin.connector.edge_effects import edge_effects
from burnin.connector.effect import Effect
from burnin.connector.finding import AnyContact
from burnin.connector.meanings import carried
from burnin.connector.measuring import Check, edge_checks, plug_checks
from burnin.connector.other_connectors import connectors, source_texts
from burnin.connector.plug_effects import plug_effects
from burnin.core.meaning import Term


@dataclass(frozen=True)
class ContactFacts:
    """All that is known of one contact; `sources` are full texts by key."""

    name: str
    signal: str
    group: str
    lane: int | None
    pair: tuple[str, ...]
    direction: str
    polarity: str
    carries: Term
    beside: tuple[str, ...]
    short_finger: bool
    effects: tuple[Effect, ...]
    measure: tuple[Check, ...]
    mix_up: str
    sources: dict[str, str]


def contact_facts(contact: AnyContact) -> ContactFacts:
    """All that is known of a contact."""
    if isinstance(contact, Contact):
        effects, measure = edge_effects(contact.name), edge_checks(contact)
        near = tuple(c.name for c in beside(contact))
    else:
        effects, measure = plug_effects(contact), plug_checks(contact)
        near = ()
    return ContactFacts(
        contact.name,
        contact.signal,
        contact.group,
        contact.lane,
        _pair(contact),
        contact.direction,
        contact.polarity,
        carried(contact.group, contact.lane),
        near,
        isinstance(contact, Contact) and is_short(contact.name),
        effects,
        measure,
        COMMON_MISTAKES.get(contact.name, ""),
        {key: source_texts()[key] for key in contact.sources},
    )


def _pair(contact: AnyContact) -> tuple[str, ...]:
    """Names of both legs, the positive one first; empty for a single contact."""
    if not contact.polarity:
        return ()
    if isinstance(contact, Contact):
        other = twin(contact)
        assert other is not None
        return (contact.name, other.name) if contact.polarity == "p" else (other.name, contact.name)
    row = contact.label.rstrip("0123456789")
    legs = {
        c.polarity: c.name
        for c in connectors()[contact.connector].contacts
        if c.signal[:-1] == contact.signal[:-1] and c.label.rstrip("0123456789") == row
    }
    return (legs["p"], legs["n"])
