"""What a stage may draw at most while it works the card, and which links it fills.

While nobody measures it, a card at work is counted at the worst that it may draw: what the stage
itself is bounded to, else the highest power limit that the card tells (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass

from burnin.card.capabilities import Card
from burnin.core.meaning import Term
from burnin.core.ratings import OwnRatings
from burnin.core.reading import NotMeasured, known
from burnin.profile.model import Profile, Stage
from burnin.run.leave.meanings import LeaveTerm
from burnin.run.spared import needed_w
from burnin.stages.registry import stage_kind
from burnin.stages.thermal_ramp.settings import ThermalRamp
from burnin.stages.under_load.settings import UnderLoad
from burnin.stages.working import SOFT_START_S

_HELD_SHARE = 1.05
"""A limit is held in the mean of a second to a few per cent (common practice, no source)."""


@dataclass(frozen=True)
class Need:
    """What is asked for before a stage's load begins, for all of its time.

    `watts`: the card's power at most, None where nobody can say; `bounded_by` what. `step_w`: its
    fastest rise within a second. `ways`: ports whose links its traffic fills; None: it cannot be
    told which; empty: it moves next to nothing.
    """

    stage: str
    watts: float | None
    step_w: float
    bounded_by: Term
    ways: frozenset[str] | None = frozenset()


def need_of(name: str, stage: Stage, profile: Profile, card: Card) -> Need:
    """The need of a stage that works its card."""
    own_w, limit_w = most_w(card.ratings()), known(card.ratings().own_power_limit_w)
    asked_w = needed_w(profile, stage, limit_w)
    stage_w = None if asked_w is None else _HELD_SHARE * asked_w
    own = stage_w is not None and (own_w is None or stage_w < own_w)
    watts = stage_w if own else own_w
    bounded_by = LeaveTerm.BY_STAGE() if own else LeaveTerm.BY_OWN_LIMIT()
    ways = _ways(card) if stage_kind(stage.stage).fills_link else frozenset[str]()
    return Need(name, watts, _step_w(stage, watts), bounded_by, ways)


def most_w(ratings: OwnRatings) -> float | None:
    """What a card may draw by its highest limit: the one in force may be raised meanwhile."""
    told = [known(ratings.own_power_limit_w), known(ratings.set_power_limit_w)]
    limits = [watts for watts in told if watts is not None]
    return _HELD_SHARE * max(limits) if limits else None


def _step_w(stage: Stage, watts: float | None) -> float:
    """A load that is held rises in seconds, all else at once."""
    if watts is None:
        return 0.0
    if isinstance(stage, ThermalRamp | UnderLoad):
        return min(watts, max(watts / SOFT_START_S, stage.power_rise_w_per_s))
    return watts


def _ways(card: Card) -> frozenset[str] | None:
    """Every port between the card and the root complex: cards that share one share its link."""
    position = card.position()
    if isinstance(position, NotMeasured):
        return None
    return frozenset(port.address for port in position.ports)
