"""What an answer cannot be: nothing across a joint under load, a joint colder than any room."""

from __future__ import annotations

from dataclasses import dataclass

from burnin.card.capabilities import DetectsDisplays
from burnin.core.meaning import Reason
from burnin.core.quantities.quantity import Quantity
from burnin.core.reading import NotMeasured
from burnin.profile.under_load import Picture, TouchedTemperature, UnderLoadPoint, VoltageAcross
from burnin.stages.under_load.meanings import UnderLoadReason

_COLDEST_ROOM_C = 15.0
"""Rooms in which things are tested are no colder (IEC 60068-1, standard conditions, 15 to 35 °C;
from memory)."""


@dataclass(frozen=True)
class Around:
    """What the card told beside the answer.

    `coldest_c`: the lowest temperature of its chip since the stage began. `screen_before`,
    `screen`: whether a screen was there as the prompt was put and as it was answered, or why nobody
    can tell. None: the card did not tell.
    """

    coldest_c: float | None = None
    screen_before: bool | NotMeasured | None = None
    screen: bool | NotMeasured | None = None

    def nothing_to_see(self, point: UnderLoadPoint) -> Reason | None:
        """Why no answer of a picture counts: there was no screen all the while."""
        if isinstance(point, Picture) and self.screen_before is False and self.screen is False:
            return UnderLoadReason.NO_SCREEN()
        if isinstance(point, Picture) and isinstance(self.screen, NotMeasured):
            return self.screen.reason
        return None

    def why_no_pass(self, point: UnderLoadPoint, answer: Quantity | str) -> Reason | None:
        """Why a good answer cannot be true."""
        if isinstance(point, Picture):
            return UnderLoadReason.NO_SCREEN() if self.screen is False else None
        if isinstance(answer, str) or answer.value is None:
            return None
        if isinstance(point, VoltageAcross) and answer.value <= answer.uncertainty:
            return UnderLoadReason.NOTHING_READ(
                drop_v=answer.value, uncertainty_v=answer.uncertainty
            )
        least_c = _COLDEST_ROOM_C
        if self.coldest_c is not None:
            least_c = min(least_c, self.coldest_c)
        if isinstance(point, TouchedTemperature) and answer.value < least_c:
            return UnderLoadReason.TOO_COLD(temp_c=answer.value, least_c=least_c)
        return None


def screen_there(card: DetectsDisplays) -> bool | NotMeasured | None:
    """Whether a screen is connected, not by hand's setting; None where the card does not tell."""
    outputs = card.outputs()
    if isinstance(outputs, NotMeasured):
        return outputs
    if any(output.status == "connected" and not output.forced for output in outputs):
        return True
    return None if any(isinstance(o.status, NotMeasured) for o in outputs) else False
