"""By what people find a run's card among several: its address, its slot's name, its screens."""

from __future__ import annotations

from burnin.page.board_terms import RoundTerm
from burnin.record.schema.run import RunFile
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.one_line import one_line

_MOST_NAME, _MOST_SCREENS = 40, 160


def address_of(run: RunFile | None) -> str:
    """The card's bus address; empty where the record tells none."""
    return "" if run is None or run.card is None else one_line(run.card.address, _MOST_NAME)


def slot_of(run: RunFile | None) -> str:
    """The name of the slot that the card sat in when the run began; empty where nobody told it."""
    return _told(run, "slot_name", _MOST_NAME)


def place_of(run: RunFile | None, words: Catalogue) -> str:
    """Address and slot of a card, as they stand beside its name; empty where nothing is told."""
    address, slot = address_of(run), slot_of(run)
    if address and slot:
        return words.say(RoundTerm.AT_SLOT(address=address, slot=slot))
    return words.say(RoundTerm.AT_ADDRESS(address=address)) if address else ""


def screens_told(run: RunFile | None, words: Catalogue) -> str:
    """The screens that were on the card when the run began; empty where there was none."""
    screens = _told(run, "screens", _MOST_SCREENS)
    return words.say(RoundTerm.SCREENS(screens=screens)) if screens else ""


def _told(run: RunFile | None, name: str, most: int) -> str:
    value = None if run is None else run.bench.get(name)
    return one_line(value, most) if isinstance(value, str) else ""
