"""Seams: places where a member is added by registration, ours and a shop's own the same way.

A member is an entry point of packaging metadata (https://packaging.python.org, "Entry points
specification") in the group of its seam, so that a package of a shop's own adds a stage or a sensor
source without a change here:

>>> sorted(GROUPS)[:3]
['benches', 'engines', 'guards']

Ours are registered in pyproject.toml.
"""

from __future__ import annotations

from functools import cache
from importlib.metadata import EntryPoint, entry_points

from burnin.core.errors import BadInput
from burnin.core.meaning import ReasonCode, TermCode

GROUPS = {
    "stages": "burnin.stages",
    "sources": "burnin.sources",
    "guards": "burnin.guards",
    "engines": "burnin.engines",
    "benches": "burnin.benches",
    "sinks": "burnin.sinks",
    "reports": "burnin.reports",
    "languages": "burnin.languages",
}
"""Entry-point group of each seam."""


class SeamRefusal(ReasonCode):
    """A member that is not registered, or fails as it is loaded; `seam` is a `SeamTerm`."""

    NO_MEMBER = "refused_seam_no_member", "seam", "name", "there"
    NOT_LOADED = "refused_seam_not_loaded", "seam", "name", "place", "error", "words"


class SeamTerm(TermCode):
    """What a member of each seam is, by its name in `GROUPS`."""

    STAGES = "seam_stages"
    SOURCES = "seam_sources"
    GUARDS = "seam_guards"
    ENGINES = "seam_engines"
    BENCHES = "seam_benches"
    SINKS = "seam_sinks"
    REPORTS = "seam_reports"
    LANGUAGES = "seam_languages"


@cache
def names(seam: str) -> tuple[str, ...]:
    """Names of a seam's members, sorted; nothing is loaded."""
    return tuple(sorted(_points(seam)))


@cache
def member(seam: str, name: str) -> object:
    """One member, loaded; raises BadInput where there is none, or where it cannot be loaded."""
    point = _points(seam).get(name)
    if point is None:
        kind = SeamTerm[seam.upper()]()
        raise BadInput(SeamRefusal.NO_MEMBER(seam=kind, name=name, there=names(seam)))
    try:
        return point.load()
    except Exception as error:
        raise BadInput(
            SeamRefusal.NOT_LOADED(
                seam=SeamTerm[seam.upper()](),
                name=name,
                place=point.value,
                error=type(error).__name__,
                words=str(error),
            )
        ) from error


def members(seam: str) -> dict[str, object]:
    """All members by name; raises BadInput for one that cannot be loaded."""
    return {name: member(seam, name) for name in names(seam)}


@cache
def _points(seam: str) -> dict[str, EntryPoint]:
    return {point.name: point for point in entry_points(group=GROUPS[seam])}
