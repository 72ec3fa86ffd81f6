"""Evidence weighed once, for whoever tells it: what keeps a card from starting, and its link."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from burnin.diagnosis.evidence import Evidence
from burnin.diagnosis.posterior import Posterior
from burnin.diagnosis.start.explain_start import StartCandidate, explain_start
from burnin.diagnosis.start.of_evidence import look_at_start, tells_of_start
from burnin.diagnosis.start.with_link import WholeCandidate, of_link_alone, whole_of

_MOST = 6
_STARTS_SOUNDLY = StartCandidate(1.0, True, ())


@dataclass(frozen=True)
class Weighed:
    """`whole`: candidates of start and link together, most probable first; `start`: those of the
    start alone, empty where nothing speaks of one; `link`: None where no card came up."""

    whole: tuple[WholeCandidate, ...]
    start: tuple[StartCandidate, ...]
    link: Posterior | None

    def link_shows(self, candidate: WholeCandidate) -> bool:
        """Whether something is wrong with the link in it."""
        link = candidate.link
        return link is not None and self.link is not None and link.number != self.link.nothing_class

    def is_sound(self, candidate: WholeCandidate) -> bool:
        """Whether it says that nothing is wrong."""
        sound = candidate.start is not None and candidate.start.nothing
        return sound and not candidate.other and not self.link_shows(candidate)


def weighed(evidence: Evidence, damaged: Collection[str] = ()) -> Weighed:
    """Weigh it. Starts and link are asked of different things, so that nothing counts twice.

    Raises ValueError where two looks offer different links.
    """
    look = look_at_start(evidence, damaged)
    if evidence.absent:
        start = explain_start(look)
        return Weighed(whole_of(start, None), start, None)
    if not tells_of_start(look):
        posterior = Posterior(evidence, damaged)
        whole = tuple(
            WholeCandidate(c.probability, _STARTS_SOUNDLY, c) for c in posterior.candidates(_MOST)
        )
        return Weighed(whole, (), posterior)
    start = explain_start(look)
    posterior = Posterior(of_link_alone(evidence), damaged)
    return Weighed(whole_of(start, posterior), start, posterior)
