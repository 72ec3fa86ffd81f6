"""Is the card alone left? Weighs the parties of a failed reading by what was observed (law 15)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from burnin.core.meaning import Check, Reason
from burnin.core.parties import STEPS, Party, PartyReason, PartyTerm, Sight
from burnin.core.reading import Reading, reading_subject
from burnin.core.sights import Seen, sights
from burnin.core.suspects import (
    CARD_ALONE,
    SUSPECTS,
    SUSPECTS_BY_REASON,
    WEIGHS,
    Suspects,
)


@dataclass(frozen=True)
class Blame:
    """The parties that are left for a failed reading, most likely first, and who is ruled out."""

    reading: Reading
    parties: tuple[Party, ...]
    ruled_out: tuple[tuple[Party, Sight], ...]

    @property
    def card_alone(self) -> bool:
        """Whether nobody but the card is left."""
        return self.parties == (Party.CARD,)

    @property
    def step(self) -> Check:
        """The step that tells the likeliest of the others from the card."""
        other = next((party for party in self.parties if party in STEPS), Party.SLOT)
        step, minutes = STEPS[other]
        return step(minutes=minutes)

    def to_decide(self) -> Reason:
        """Who is left, and the step, for whoever names the reading itself."""
        parties = tuple(party() for party in self.parties)
        return PartyReason.TO_DECIDE(parties=parties, step=self.step)


def suspects_of(reading: Reading) -> Suspects:
    """Who could cause a reading to fail, before anything is observed."""
    if reading.reason is not None:
        for part in reading.reason.parts():
            if part.code in SUSPECTS_BY_REASON:
                return SUSPECTS_BY_REASON[part.code]
    return SUSPECTS.get(reading_subject(reading.name)[0], CARD_ALONE)


def blame(reading: Reading, seen: Seen, readings: Sequence[Reading] = ()) -> Blame:
    """Weigh the parties of a failed reading; `readings` are all of the run."""
    weights = dict(suspects_of(reading).weights)
    ruled_out: dict[Party, Sight] = {}
    for sight in sights(reading, seen, readings):
        for party, factor in WEIGHS[sight].items():
            if party not in weights:
                continue
            weights[party] *= factor
            if factor == 0.0:
                ruled_out.setdefault(party, sight)
    left = [party for party, weight in weights.items() if weight > 0.0]
    if not left:  # what was proven was not proven in this
        weights, ruled_out = dict(suspects_of(reading).weights), {}
        left = [party for party in weights if party is not Party.CARD]
    order = sorted(left, key=lambda party: -weights[party])
    return Blame(reading, tuple(order), tuple(ruled_out.items()))


def blames_told(blames: Sequence[Blame]) -> tuple[Reason, ...]:
    """Blames as reasons; readings with the same parties and step share one."""
    grouped: dict[tuple[object, ...], list[Blame]] = {}
    for one in blames:
        grouped.setdefault((one.parties, one.ruled_out, one.step), []).append(one)
    return tuple(_told(group) for group in grouped.values())


def _told(group: Sequence[Blame]) -> Reason:
    first = group[0]
    names = tuple(dict.fromkeys(one.reading.name for one in group))
    parties = tuple(party() for party in first.parties)
    if not first.ruled_out:
        return PartyReason.MAY_BE(readings=names, parties=parties, step=first.step)
    out = tuple(
        PartyTerm.RULED_OUT(party=party(), because=sight()) for party, sight in first.ruled_out
    )
    return PartyReason.MAY_BE_BUT(
        readings=names, parties=parties, ruled_out=out, step=first.step
    )
