"""Several runs of one card as one evidence: what each saw, and at which starts it came up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from burnin.diagnosis.evidence import Evidence, LinkLook


def of_several(runs: Sequence[Evidence]) -> Evidence:
    """One evidence of runs of one card, oldest first; of a single run it is that run's own.

    Looks count that were made on a slot which offers as much as the newest look's. Where the card
    came up at some runs only, that is told by its starts; outputs and what failed elsewhere are
    those of the newest run that saw any.
    """
    newest = runs[-1]
    if len(runs) == 1:
        return newest
    came = [run for run in runs if not run.absent]
    looks = [look for run in came for look in run.looks]
    slot = _slot(looks[-1]) if looks else None
    return replace(
        newest,
        looks=tuple(look for look in looks if _slot(look) == slot),
        starts=tuple(came for run in runs for came in (*run.starts, not run.absent)),
        absent=not came,
        lost=any(run.lost for run in came),
        simulated=any(run.simulated for run in runs),
        outputs=next((run.outputs for run in reversed(came) if run.outputs), ()),
        elsewhere=next((run.elsewhere for run in reversed(runs) if run.elsewhere), ()),
        deciding=next((run.deciding for run in reversed(runs) if run.deciding), ()),
    )


def _slot(look: LinkLook) -> tuple[int, int]:
    return look.most_width, look.most_generation
