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
    limit_w = highest_limit_w(card.ratings())
    most_w = needed_w(profile, stage, limit_w)
    own = most_w is not None and (limit_w is None or most_w < limit_w)
    watts = most_w if own else limit_w
    bounded_by = LeaveTerm.BY_STAGE() if own else LeaveTerm.BY_OWN_LIMIT()
    ways = _ways(card) if stage_kind(stage.stage).fills_link else frozenset[str]()
    return Need(name, watts, _step_w(stage, watts), bounded_by, ways)


def highest_limit_w(ratings: OwnRatings) -> float | None:
    """The highest power limit that a card tells: the one in force may be raised meanwhile."""
    told = [known(ratings.own_power_limit_w), known(ratings.set_power_limit_w)]
    return max((watts for watts in told if watts is not None), default=None)


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
