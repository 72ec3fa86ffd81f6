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


@cache
def names(seam: str) -> tuple[str, ...]:
    """Names of a seam's members, sorted; nothing is loaded."""
    return tuple(sorted(_points(seam)))


@cache
def member(seam: str, name: str) -> object:
    """One member, loaded; raises BadInput where there is none, or where it cannot be loaded."""
    point = _points(seam).get(name)
    if point is None:
        raise BadInput(f"no {seam.rstrip('s')} named {name!r}; there are: {', '.join(names(seam))}")
    try:
        return point.load()
    except Exception as error:
        raise BadInput(
            f"{seam.rstrip('s')} {name!r}, registered as {point.value}, cannot be loaded:"
            f" {type(error).__name__}: {error}"
        ) from error


def members(seam: str) -> dict[str, object]:
    """All members by name; raises BadInput for one that cannot be loaded."""
    return {name: member(seam, name) for name in names(seam)}


@cache
def _points(seam: str) -> dict[str, EntryPoint]:
    return {point.name: point for point in entry_points(group=GROUPS[seam])}
