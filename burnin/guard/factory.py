"""The one place where guards are made: for a run, for a replay, for an evaluation (law 17)."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from burnin.core.errors import BadInput
from burnin.core.seams import members
from burnin.guard.guard_set import FittedGuard, GuardSet
from burnin.guard.kind import GuardFacts as GuardFacts
from burnin.guard.kind import GuardKind
from burnin.profile.guards import AddedGuard, Guards
from burnin.profile.parts import Part


def make_guards(settings: Guards, facts: GuardFacts | None = None) -> GuardSet:
    """Every guard that the settings ask for, the most certain first.

    What card or record itself knows goes before what the settings say.
    """
    known = facts or GuardFacts()
    agreed = facts_first(settings, known)
    fitted = (
        one
        for kind in guard_kinds()
        for said in _said_to(kind, agreed)
        if (one := _fit(kind, said, known)) is not None
    )
    return GuardSet(tuple(fitted), settings.stale_after_s)


def facts_first(settings: Guards, facts: GuardFacts) -> Guards:
    """The settings with what is known in place of what a profile says of it."""
    known: dict[str, object] = {
        "gpu_temp_limit_c": facts.die_limit_c,
        "hotspot_temp_limit_c": facts.hotspot_limit_c,
        "cooling": None if facts.cooled_by is None else str(facts.cooled_by),
    }
    told = {name: value for name, value in known.items() if value is not None}
    return settings.model_copy(update=told) if told else settings


def guard_kinds() -> tuple[GuardKind[Any], ...]:
    """Every registered kind in the order in which guards judge; raises BadInput."""
    found: list[GuardKind[Any]] = []
    for name, kind in members("guards").items():
        if not isinstance(kind, GuardKind) or kind.name != name:
            raise BadInput(f"guard {name!r} must be registered as a GuardKind of that name")
        found.append(kind)
    if not found:
        raise BadInput("no guard is registered: install this package with pip")
    return tuple(sorted(found, key=lambda kind: (kind.place, kind.name)))


def _said_to(kind: GuardKind[Any], settings: Guards) -> Iterator[Part]:
    """What the settings say to this kind: once to ours, as often as it was added to another."""
    if issubclass(kind.settings, AddedGuard):
        yield from (added for added in settings.added if added.guard == kind.name)
        return
    names = kind.settings.model_fields
    yield kind.settings.model_validate({name: getattr(settings, name) for name in names})


def _fit(kind: GuardKind[Any], said: Part, facts: GuardFacts) -> FittedGuard | None:
    guard = kind.build(said, facts)
    if guard is None:
        return None
    heeded = {name: getattr(facts, name) for name in kind.heeds}
    return FittedGuard(kind.name, guard, {**said.model_dump(), **heeded}, kind.needs)
