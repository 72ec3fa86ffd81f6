"""Is the card alone left? Weighs the parties of a failed reading by what was observed (law 15)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from burnin.core.evidence.ends import as_reading
from burnin.core.evidence.heat_sights import COOLING
from burnin.core.evidence.named import NAMED_WHEN_OPEN, NAMED_WHEN_UNSURE
from burnin.core.evidence.seen import Seen
from burnin.core.evidence.weighs import WEIGHS
from burnin.core.meaning import Check, Reason
from burnin.core.parties import (
    MEND_CONTACT,
    STEPS,
    STEPS_HELD,
    STEPS_OF_HEAT,
    STEPS_OF_MODEL,
    STEPS_OF_OUTPUTS,
    STEPS_OF_SCREENS,
    Party,
    PartyReason,
    PartyTerm,
    Sight,
)
from burnin.core.reading import Reading, Verdict, reading_subject
from burnin.core.sights import LOST, NEVER_SHOWED, sights, weighed_as
from burnin.core.suspects import (
    CARD_ALONE,
    SUSPECTS,
    SUSPECTS_BY_REASON,
    SUSPECTS_OF_ENDS,
    Suspects,
)


@dataclass(frozen=True)
class Blame:
    """The parties that are left for a failed reading, most likely first, and who is ruled out."""

    reading: Reading
    parties: tuple[Party, ...]
    ruled_out: tuple[tuple[Party, Sight], ...]
    sights: frozenset[Sight] = frozenset()

    @property
    def card_alone(self) -> bool:
        """Whether nobody but the card is left."""
        return self.parties == (Party.CARD,)

    @property
    def step(self) -> Check:
        """The step that tells the likeliest of the others from the card."""
        other = next((party for party in self.parties if party in STEPS), Party.SLOT)
        head = reading_subject(self.reading.name)[0]
        if head == NEVER_SHOWED and self.parties[0] is Party.CARD:
            mend, minutes = MEND_CONTACT
            if Sight.PADS_BAD in self.sights:
                return mend(minutes=minutes)
        special = STEPS_OF_OUTPUTS if head == "outputs_found" else {}
        if head in COOLING and Sight.NOT_FOR_HEAT not in self.sights:
            special = STEPS_OF_HEAT
        if Sight.HELD_BELOW_OWN in self.sights or head == NEVER_SHOWED:
            special = STEPS_HELD
        if self.sights & {Sight.OTHER_MODEL, Sight.AT_OWN_POWER}:
            special = STEPS_OF_MODEL
        if Sight.SHARED_BY_SCREENS in self.sights:
            special = STEPS_OF_SCREENS
        step, minutes = {**STEPS, **special}[other]
        return step(minutes=minutes)

    def to_decide(self) -> Reason:
        """Who is left, and the step, for whoever names the reading itself."""
        parties = tuple(party() for party in self.parties)
        if self.card_alone:
            return PartyReason.ALONE(parties=parties)
        return PartyReason.TO_DECIDE(parties=parties, step=self.step)


def suspects_of(reading: Reading) -> Suspects:
    """Who could cause a reading to fail, before anything is observed."""
    if reading.reason is not None:
        for part in reading.reason.parts():
            if part.code in SUSPECTS_BY_REASON:
                return SUSPECTS_BY_REASON[part.code]
    head = reading_subject(reading.name)[0]
    return SUSPECTS_OF_ENDS.get(head) or SUSPECTS.get(head, CARD_ALONE)


def named_when_open(reading: Reading) -> bool:
    """Whether a reading is open, and by what tells of parties all the same."""
    if reading.verdict is Verdict.UNSURE and reading.name in NAMED_WHEN_UNSURE:
        return True
    if reading.verdict not in (Verdict.UNSURE, Verdict.NOT_MEASURED) or not reading.required:
        return False
    why = reading.reason
    return why is not None and any(part.code in NAMED_WHEN_OPEN for part in why.parts())


def blame(reading: Reading, seen: Seen, readings: Sequence[Reading] = ()) -> Blame:
    """Weigh the parties of a failed reading; `readings` are all of the run."""
    weighed = weighed_as(reading, seen)
    suspects = suspects_of(weighed)
    weights = dict(suspects.weights)
    ruled_out: dict[Party, Sight] = {}
    found = tuple(sights(weighed, seen, readings))
    for sight in found:
        for party, factor in WEIGHS[sight].items():
            if party not in weights:
                continue
            weights[party] *= factor
            if factor == 0.0:
                ruled_out.setdefault(party, sight)
    left = [party for party, weight in weights.items() if weight > 0.0]
    if not left:  # what was proven was not proven in this
        weights, ruled_out = dict(suspects.weights), {}
        left = [party for party in weights if party is not Party.CARD]
    order = sorted(left, key=lambda party: -weights[party])
    return Blame(reading, tuple(order), tuple(ruled_out.items()), frozenset(found))


def blames_of_ends(
    stopped: Sequence[tuple[str, tuple[Reason, ...]]], readings: Sequence[Reading], seen: Seen
) -> list[Blame]:
    """Who is left where a load was ended or a stage put off, stage by stage.

    `stopped`: each such stage and its reasons. What failed in it before its end is weighed as any
    failed reading is; a failure that is the card's alone leaves nobody else.
    """
    found: list[Blame] = []
    for stage, reasons in stopped:
        failed = [r for r in readings if r.stage == stage and r.verdict is Verdict.FAIL]
        blames = [blame(r, seen, readings) for r in failed]
        end = as_reading(stage, reasons)
        if end is not None and not _told_by_others(end, readings):
            blames.append(blame(end, seen, readings))
        alone = [one for one in blames if one.card_alone]
        found += alone[-1:] or blames
    return found


def _told_by_others(end: Reading, readings: Sequence[Reading]) -> bool:
    """Whether a failed reading says the same: that of its name, or any of a card that was lost."""
    failed = [r for r in readings if r.verdict is Verdict.FAIL]
    same = any(r.name == end.name and r.stage == end.stage for r in failed)
    silent = end.name in ("whole_run_samples_gone", "unread_under_load")
    return same or (silent and any(reading_subject(r.name)[0] in LOST for r in failed))


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
