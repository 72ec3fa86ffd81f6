"""The places at which a card is moved, each with its prompt, its name and its reading."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from burnin.core.errors import BadInput
from burnin.core.meaning import Prompt, Term
from burnin.stages.movement.meanings import MovementPrompt, MovementTerm
from burnin.stages.movement.settings import Movement

_DONE = ("done", "d", "y", "yes", "ok", "fertig", "f", "j", "ja")
_NOT_DONE = ("n", "no", "nein")


@dataclass(frozen=True)
class Place:
    """One place: what is asked, what it is called, and the reading that tells of it.

    `prompt` is None for the time in which nobody touches the card.
    """

    prompt: Prompt | None
    term: Term
    reading: str


UNTOUCHED = Place(None, MovementTerm.UNTOUCHED(), "came_untouched")


def places(settings: Movement, screens: Sequence[str]) -> Iterator[Place]:
    """All places that the profile names, in its order; `screens` are outputs with a screen."""
    for what in settings.places:
        if what == "free_end":
            term = MovementTerm.FREE_END()
            yield Place(MovementPrompt.FREE_END(), term, "came_free_end_supported")
        elif what == "edge":
            yield Place(MovementPrompt.EDGE(), MovementTerm.EDGE(), "came_edge_pressed")
        elif what == "power_plugs":
            for number in range(1, settings.power_plugs + 1):
                yield Place(
                    MovementPrompt.POWER_PLUG(number=number),
                    MovementTerm.POWER_PLUG(number=number),
                    f"came_power_plug_moved {number}",
                )
        else:
            for output in screens:
                yield Place(
                    MovementPrompt.SCREEN_CABLE(output=output),
                    MovementTerm.SCREEN_CABLE(output=output),
                    f"came_cable_moved {output}",
                )


def read_done(text: str) -> bool:
    """Whether the movement was done; raises BadInput for what says neither."""
    answer = text.strip().lower()
    if answer in _DONE:
        return True
    if answer in _NOT_DONE:
        return False
    raise BadInput(f"{text[:40]!r}: type done once it is done, or nothing where it is left out")
