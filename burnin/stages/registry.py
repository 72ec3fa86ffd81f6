"""Kinds of stages by name, ours and a shop's own, from the seam ``burnin.stages``."""

from __future__ import annotations

from burnin.core.errors import BadInput
from burnin.core.seams import member, names
from burnin.stages.kind import StageKind


def stage_kind(name: str) -> StageKind:
    """A kind by its name; raises BadInput where there is none, or where it is no StageKind."""
    found = member("stages", name)
    if not isinstance(found, StageKind) or found.name != name:
        raise BadInput(f"stage {name!r} is registered as {found!r}, which is no StageKind of it")
    return found


def stage_kinds() -> dict[str, StageKind]:
    """All kinds, by name; raises BadInput for one that cannot be used."""
    return {name: stage_kind(name) for name in names("stages")}
