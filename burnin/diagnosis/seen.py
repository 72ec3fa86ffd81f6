"""What a record shows of the link, as meanings: stage by stage, and thing by thing."""

from __future__ import annotations

from collections.abc import Iterable

from burnin.card.rates import RATE_GTS
from burnin.core.meaning import Note, Term, Value
from burnin.diagnosis.evidence import Evidence, LinkLook
from burnin.diagnosis.likelihood import ERRORS, LANE_ERRORS, Feature
from burnin.diagnosis.meanings import DiagnosisTerm, Seen

_ENDS = (DiagnosisTerm.CARD(), DiagnosisTerm.PORT())


def rate(generation: int | None) -> Term:
    """A generation's line rate."""
    if generation is None:
        return DiagnosisTerm.UNKNOWN_RATE()
    return DiagnosisTerm.RATE(speed_gts=RATE_GTS[generation])


def runs(numbers: Iterable[int]) -> tuple[Value, ...]:
    """Numbers in order, three and more in a row as one run."""
    found: list[list[int]] = []
    for number in sorted(set(numbers)):
        if found and number == found[-1][-1] + 1:
            found[-1].append(number)
        else:
            found.append([number])
    told: list[Value] = []
    for run in found:
        told += [DiagnosisTerm.RUN(first=run[0], last=run[-1])] if len(run) > 2 else run
    return tuple(told)


def errors(count: int | None) -> Term:
    """A count of errors."""
    if count is None:
        return DiagnosisTerm.NOT_COUNTED()
    return DiagnosisTerm.ONE_ERROR() if count == 1 else DiagnosisTerm.ERRORS(errors_count=count)


def look_notes(look: LinkLook) -> tuple[Note, ...]:
    """What one link stage saw: lanes, speed, errors and error bits of either end."""
    found = [_lanes_note(look)]
    speed = rate(look.generation)
    if look.generation == look.most_generation:
        found.append(Seen.FULL_SPEED(speed=speed))
    else:
        found.append(Seen.SPEED(speed=speed, most=rate(look.most_generation)))
    for end, count, lanes in zip(_ENDS, look.errors, look.lanes, strict=True):
        counted = errors(count)
        if lanes:
            found.append(Seen.COUNTED_WITH_BITS(end=end, errors=counted, lanes=runs(lanes)))
        else:
            found.append(Seen.COUNTED(end=end, errors=counted))
    if all(lanes is None for lanes in look.lanes):
        found.append(Seen.REGISTERS_UNREAD())
    return tuple(found)


def _lanes_note(look: LinkLook) -> Note:
    if look.width is None:
        return Seen.LANES_UNREAD(most_lanes=look.most_width)
    return Seen.LANES(width_lanes=look.width, most_lanes=look.most_width)


def presence_note(evidence: Evidence) -> Note:
    """Whether the card came up and stayed."""
    if evidence.absent:
        return Seen.NO_CARD()
    return Seen.CARD_LEFT() if evidence.lost else Seen.CARD_STAYED()


def feature_note(look: LinkLook, feature: Feature) -> Note:
    """One thing that a look saw, with the stage that saw it."""
    warm = DiagnosisTerm.CARD_WARM() if look.warm else None
    return Seen.AT(stage=look.stage, warm=warm, seen=_feature(look, feature))


def _feature(look: LinkLook, feature: Feature) -> Note:
    match feature:
        case Feature.WIDTH:
            return _lanes_note(look)
        case Feature.SPEED:
            return Seen.SPEED(speed=rate(look.generation), most=rate(look.most_generation))
        case Feature.TOP_SPEED:
            return Seen.TOP_SPEED(speed=rate(look.top_generation))
        case Feature.TARGET_SPEED:
            return Seen.TARGET_SPEED(speed=rate(look.target_generation))
        case Feature.LINK_LOWERED:
            return Seen.LINK_LOWERED() if look.managed else Seen.LINK_NOT_LOWERED()
        case Feature.CARD_ERRORS | Feature.PORT_ERRORS:
            place = ERRORS.index(feature)
            return Seen.ERRORS_AT(end=_ENDS[place], errors=errors(look.errors[place] or 0))
        case Feature.CARD_LANES | Feature.PORT_LANES:
            place = LANE_ERRORS.index(feature)
            lanes = look.lanes[place]
            if not lanes:
                return Seen.NO_ERROR_BITS(end=_ENDS[place])
            return Seen.ERROR_BITS(end=_ENDS[place], lanes=runs(lanes))
        case Feature.PRESENCE:
            raise ValueError("presence is no matter of one look: see presence_note")
