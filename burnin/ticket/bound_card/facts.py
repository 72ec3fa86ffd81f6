"""What a ticket keeps of its card: numbers, names and sizes that stay as long as the card does."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import TypeAlias

from burnin.card.capabilities import Output
from burnin.core.identity import Identity
from burnin.core.meaning import Term, Value
from burnin.core.reading import NotMeasured, known
from burnin.ticket.bound_card.meanings import CardFact, CardTerm

Facts: TypeAlias = "Mapping[str, int | str | tuple[str, ...]]"
"""Facts by the names in `FACTS`; what the card does not tell is not there."""

FACTS = tuple(fact.name.lower() for fact in CardFact)
UNIQUE = ("serial", "uuid")
"""Facts that no two cards share."""
NUMBERS = ("vendor_id", "device_id", "subsystem_vendor_id", "subsystem_id")
MEMORY_WITHIN = 0.07
"""Share by which the memory's size may differ and be the same memory: protection that is switched
on takes a sixteenth of it, and drivers keep some for themselves."""
_GIB = 1 << 30


def facts_of(
    identity: Identity, outputs: tuple[Output, ...] | NotMeasured | None = None
) -> Facts:
    """What is kept of a card; `outputs` None: nobody asked for them."""
    told = {name: known(getattr(identity, name)) for name in FACTS if name != "outputs"}
    found: dict[str, int | str | tuple[str, ...]] = {
        name: value.strip() if isinstance(value, str) else value
        for name, value in told.items()
        if value not in (None, "", 0)
    }
    if outputs is not None and not isinstance(outputs, NotMeasured):
        found["outputs"] = tuple(sorted(_connector(output.name) for output in outputs))
    return found


def facts_kept(content: object) -> Facts:
    """Facts out of a ticket's log; what this tool does not know is passed over."""
    if not isinstance(content, Mapping):
        return {}
    found: dict[str, int | str | tuple[str, ...]] = {}
    for name in FACTS:
        value = content.get(name)
        if isinstance(value, list):
            found[name] = tuple(str(part) for part in value)
        elif isinstance(value, int | str) and not isinstance(value, bool):
            found[name] = value
    return found


def differences(
    bound: Facts, now: Facts, *, must_be_told: bool = True
) -> tuple[tuple[str, Term], ...]:
    """Facts in which a card is not the bound one, each with its term; empty for the same card.

    A fact that one of the two does not tell says nothing; but where the bound card told a number
    that no other card has, and none such can be compared now, that is a difference too
    (`must_be_told`).
    """
    found = [
        (name, CardTerm.DIFFERS(fact=fact_term(name), was=told(name, bound[name]),
                                now=told(name, now[name])))
        for name in FACTS
        if name in bound and name in now and not _same(name, bound[name], now[name])
    ]  # fmt: skip
    unique = [name for name in UNIQUE if name in bound]
    if must_be_told and unique and not any(name in now for name in unique):
        found += [
            (name, CardTerm.NOT_TOLD(fact=fact_term(name), was=told(name, bound[name])))
            for name in unique
        ]
    return tuple(found)


def fact_terms(facts: Facts) -> tuple[Term, ...]:
    """Every fact as a person reads it."""
    return tuple(
        CardTerm.IS(fact=fact_term(name), value=told(name, facts[name]))
        for name in FACTS
        if name in facts
    )


def fact_term(name: str) -> Term:
    """A fact's name."""
    return CardFact[name.upper()]()


def told(name: str, value: int | str | Iterable[str]) -> Value:
    """A fact's value as a person reads it."""
    if isinstance(value, int):
        if name == "memory_bytes":
            return CardTerm.BYTES(gib=value / _GIB)
        return f"{value:04x}"
    if isinstance(value, str):
        return value
    kinds = list(value)
    counted = [f"{kinds.count(kind)} {kind}" for kind in dict.fromkeys(kinds)]
    return ", ".join(counted) if counted else CardTerm.NO_OUTPUT()


def _same(name: str, was: object, now: object) -> bool:
    if name == "memory_bytes" and isinstance(was, int) and isinstance(now, int):
        return abs(was - now) <= MEMORY_WITHIN * max(was, now)
    if isinstance(was, str) and isinstance(now, str):
        return was.casefold() == now.casefold()
    return was == now


def _connector(name: str) -> str:
    """Kind of a connector: the kernel counts them over all cards of a host, so numbers change."""
    return re.sub(r"-\d+$", "", name)
