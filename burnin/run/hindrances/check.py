"""All that hides something from a run on this bench: its own, each card's, and lacking rights."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from burnin.card.capabilities import Card
from burnin.card.files import BenchFiles
from burnin.run.hindrances.found import Hindrance
from burnin.run.hindrances.meanings import Costs, Hides, Mend
from burnin.run.hindrances.of_bench import hindrances_of_bench
from burnin.run.hindrances.of_card import hindrances_of_card
from burnin.run.rights.trial import State, Trial


def hindrances(
    files: BenchFiles, cards: Iterable[Card], trials: Iterable[Trial]
) -> Iterator[Hindrance]:
    """The bench's first, then each card's, then the rights that this account lacks."""
    yield from hindrances_of_bench(files)
    for card in cards:
        yield from hindrances_of_card(files, card)
    for trial in trials:
        if trial.state in (State.NO, State.PART):
            yield Hindrance(
                Hides.RIGHT(thing=trial.thing.name),
                Costs.RIGHT(what=trial.thing.without),
                Mend.RIGHT(needs=trial.thing.needs),
                trial.address,
            )
