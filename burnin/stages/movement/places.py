"""The places at which a card is moved, each with its prompt, its name and its reading."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from burnin.core.answers.reader import DONE, Said, read
from burnin.core.meaning import Prompt, Term
from burnin.stages.movement.meanings import MovementPrompt, MovementTerm
from burnin.stages.movement.settings import Movement


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
    return read(text, DONE) is Said.DONE
