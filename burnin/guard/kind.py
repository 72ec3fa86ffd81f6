"""A kind of guard: what a member of the seam ``burnin.guards`` is.

A guard of another package is added the same way as ours: a `GuardKind`, registered under its name
as an entry point of the group ``burnin.guards``. Its settings narrow
`burnin.profile.guards.AddedGuard`, and a profile asks for it with ``[[guards.added]]``.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from importlib.resources.abc import Traversable
from typing import Generic, TypeVar

from burnin.core.sample import Resolution
from burnin.guard.guard import Guard
from burnin.profile.parts import Part
from burnin.thermal.inputs import Plan
from burnin.thermal.states import CooledBy


@dataclass(frozen=True)
class GuardFacts:
    """What a card or a record itself knows; it goes before what a profile says.

    None where it does not know. Limits in °C. `plan`: what the load is to be from the first sample
    on. `hotspot_seen` is False where the hot spot is not read: then nobody can foresee it.
    """

    resolution: Resolution = field(default_factory=Resolution)
    cooled_by: CooledBy | None = None
    die_limit_c: float | None = None
    hotspot_limit_c: float | None = None
    plan: Plan | None = None
    ambient_c: float | None = None
    hotspot_seen: bool | None = None

    @property
    def temp_step_c(self) -> float:
        """Step in which temperatures are read, K."""
        return self.resolution.temp_c


S = TypeVar("S", bound=Part)


@dataclass(frozen=True)
class GuardKind(Generic[S]):
    """A kind of guard.

    `settings`: what a profile may say of it, fields with units and bounds. `build`: from settings
    and facts to the guard of one run; None where it has nothing to watch. `rule_from`: where its
    rule is from. `place`: guards judge in its rising order, those that know most certainly first.
    `heeds`: the facts that it looks at. `needs`: the signals of telemetry (`core.sample.Telemetry`)
    that it watches: once it was told them and is told one no more, it is blind, and ends a load by
    the patience of its set. None: it sees to that itself.
    `words`: a folder with ``words.<language>.toml``; None for
    ours, whose words lie with the catalogue.
    """

    name: str
    settings: type[S]
    build: Callable[[S, GuardFacts], Guard | None]
    rule_from: str
    place: int = 100
    heeds: tuple[str, ...] = ()
    words: Traversable | None = None
    needs: tuple[str, ...] = ()
