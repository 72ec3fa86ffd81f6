"""All rights of a machine tried at once: of this one, or of a simulated one in its place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import cast

from burnin.card.answers_in_time import Patience, answering_in_time
from burnin.card.files import HostFiles
from burnin.card.merge import open_bench
from burnin.core import seams
from burnin.core.clock import Clock, WallClock
from burnin.core.identity import Identity
from burnin.core.reading import NotMeasured
from burnin.run.bench import BenchSource, OpenSource
from burnin.run.card_lock import holder_of
from burnin.run.rights.account import Account, this_account
from burnin.run.rights.engines import simulated_engine, trials_of_engines
from burnin.run.rights.of_bench import trials_of_bench
from burnin.run.rights.of_card import trials_of_card
from burnin.run.rights.things import Thing
from burnin.run.rights.trial import Trial


@dataclass(frozen=True)
class Survey:
    """Whose account it is, the cards there are, and what came of each thing."""

    account: Account
    cards: tuple[Identity, ...]
    trials: tuple[Trial, ...]


def survey(simulated: str, places: Sequence[Thing] = ()) -> Survey:
    """This machine, or the scenario that `simulated` names; `places` are folders written into.

    Raises ScenarioError. Whatever hangs is given up in time, as in a run.
    """
    account = this_account(HostFiles())
    if simulated:
        open_source = cast(OpenSource, seams.member("benches", "simulated"))
        return surveyed(account, open_source(simulated, 1, None, ""), WallClock(), places)
    return surveyed(account, None, WallClock(), places)


def surveyed(
    account: Account, source: BenchSource | None, clock: Clock, places: Sequence[Thing] = ()
) -> Survey:
    """The same for a machine that is opened: `source` stands in for this one, None: this one."""
    files = HostFiles() if source is None else source.files
    real = source is None
    bench = open_bench(files, this_machine=real, simulated=not real)
    trials = list(trials_of_bench(files, bench, this_machine=real, places=places))
    patience = Patience()
    found = bench.cards()
    asked = [answering_in_time(card, clock, patience) for card in found] if real else list(found)
    cards = tuple(card.identity() for card in asked)
    for card, identity in zip(asked, cards, strict=True):
        trials.extend(trials_of_card(card))
        if source is not None:
            if not isinstance(source.engine, NotMeasured):
                title = source.engine.description().name
                trials.append(simulated_engine(title, identity.address))
            continue
        holder = holder_of(identity.address)
        held = None if holder is None else holder.reason(identity.address)
        alike = _alike_before(identity, cards)
        trials.extend(trials_of_engines(identity, files, held=held, among_alike=alike))
    return Survey(account, cards, tuple(trials))


def _alike_before(identity: Identity, cards: Sequence[Identity]) -> int:
    """How many cards with the same numbers come before it, as drivers list them."""
    numbers = (identity.vendor_id, identity.device_id)
    return sum(
        (other.vendor_id, other.device_id) == numbers and other.address < identity.address
        for other in cards
    )
