"""One card of a batch on one line: who it is, where its run stands, what it waits for."""

from __future__ import annotations

from burnin.cli.batch.terms import BatchLine
from burnin.cli.terms import LargeWord, ScreenTerm
from burnin.core.meaning import Meaning
from burnin.core.verdict import WHOLE_RUN, shown, stage_title
from burnin.record.batches.batch import CardOfBatch
from burnin.report.languages.catalogue import Catalogue
from burnin.run.batch.member import Member


def card_text(card: CardOfBatch, words: Catalogue) -> str:
    """A card by name and address, with its slot's name or number where one is known."""
    name = words.say(ScreenTerm.CARD_AT(card=card.name, address=card.address))
    text = name if card.name else card.address
    if card.slot_name:
        return words.say(BatchLine.NAMED_SLOT(card=text, slot=card.slot_name))
    if not card.slot_number:
        return text
    return words.say(BatchLine.SLOT(card=text, slot_number=card.slot_number))


def state(member: Member, words: Catalogue, *, simulated: bool) -> str:
    """How the card's run stands now, without its sensors."""
    card = member.card
    parts: list[Meaning | str] = []
    if card.word is not None:
        parts.append(words.word(shown(card.word, simulated=simulated)))
        if not card.ended:
            parts.append(BatchLine.MAKES_SHEET())
    elif card.ended:
        parts.append(BatchLine.NO_WORD())
        if card.why is not None:
            parts.append(card.why)
    elif not member.may_begin:
        parts.append(BatchLine.READY() if member.ready else BatchLine.GETS_READY())
    else:
        parts += _at_work(member)
    return "; ".join(p if isinstance(p, str) else words.say(p) for p in parts)


def _at_work(member: Member) -> list[Meaning | str]:
    shows, found = member.shows, list[Meaning | str]()
    if shows is not None and shows.kind:
        number = min(shows.done_count + int(shows.kind != WHOLE_RUN), shows.stages_count)
        stage = stage_title(shows.kind, shows.own_title)
        found.append(
            BatchLine.AT_STAGE(number=number, stages_count=shows.stages_count, stage=stage)
        )
        if shows.bad_count:
            found.append(BatchLine.BAD(bad_count=shows.bad_count))
    if member.waits is not None:
        found.append(BatchLine.WAITS(reason=member.waits))
    if member.wants is not None:
        found.append(BatchLine.ASKS())
    return found


def sensors(member: Member, words: Catalogue) -> str:
    """What the card draws and how warm it is; a question mark where no sensor tells."""
    shows = member.shows
    if shows is None or member.card.ended:
        return ""
    power = "?" if shows.power_w is None else f"{shows.power_w:.0f}"
    temp = "?" if shows.gpu_temp_c is None else f"{shows.gpu_temp_c:.0f}"
    return words.say(BatchLine.SENSORS(power=power, temp=temp))


def large_word(card: CardOfBatch, words: Catalogue, *, simulated: bool) -> str:
    """A card's word as it stands at the end of a batch."""
    if card.word is None:
        return words.say(BatchLine.NO_WORD())
    word = words.say(LargeWord[card.word.name]())
    return f"{words.say(LargeWord.SIMULATED())} {word}" if simulated else word
