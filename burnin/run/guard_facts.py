"""What a card itself knows that its guards must know; it goes before what a profile says."""

from __future__ import annotations

from burnin.card.capabilities import ReadsTelemetry
from burnin.core.reading import NotMeasured
from burnin.guard.factory import GuardFacts


def facts_of_card(card: ReadsTelemetry) -> GuardFacts:
    """The steps of its sensors, and whether it tells its hot spot: one look at the card."""
    spot_c = card.telemetry().hotspot_temp_c
    return GuardFacts(
        resolution=card.resolution(), hotspot_seen=not isinstance(spot_c, NotMeasured)
    )
