"""The card that is not there: every question answers 'not measured', with the reason."""

from __future__ import annotations

from collections.abc import Mapping

from burnin.card.capabilities import Counter, Link, LinkEnd, Output, ProcessUse
from burnin.card.meanings import CardSource
from burnin.card.pci.config_space import ConfigurationSpace
from burnin.card.topology import CardPosition
from burnin.core.errors import NoCard
from burnin.core.identity import Identity, TemperatureLimits
from burnin.core.meaning import Reason, Source
from burnin.core.ratings import OwnRatings
from burnin.core.reading import NotMeasured
from burnin.core.sample import TELEMETRY_NAMES, Resolution, Telemetry


class AbsentCard:
    """Stands in the card's place where software works the bench's processor."""

    def __init__(self, reason: Reason) -> None:
        self._why = NotMeasured(reason)

    def identity(self) -> Identity:
        """Raises NoCard: nothing has an identity here."""
        raise NoCard(self._why.reason)

    def present(self) -> bool:
        """Never."""
        return False

    def configuration_space(self) -> ConfigurationSpace | NotMeasured:
        """Not measured."""
        return self._why

    def configuration_space_at(self, end: str) -> ConfigurationSpace | NotMeasured:  # noqa: ARG002
        """Not measured."""
        return self._why

    def link(self) -> Link:
        """Not measured."""
        why = self._why
        return Link(LinkEnd(why, why, why, why, CardSource.NONE()), why)

    def position(self) -> CardPosition | NotMeasured:
        """Not measured."""
        return self._why

    def process_use(self, pid: int) -> ProcessUse | NotMeasured:  # noqa: ARG002
        """Not measured."""
        return self._why

    def error_counters(self) -> tuple[Counter, ...] | NotMeasured:
        """Not measured."""
        return self._why

    def free_memory_bytes(self) -> int | NotMeasured:
        """Not measured."""
        return self._why

    def memory_errors(self) -> tuple[Counter, ...] | NotMeasured:
        """Not measured."""
        return self._why

    def outputs(self) -> tuple[Output, ...] | NotMeasured:
        """Not measured."""
        return self._why

    def telemetry(self) -> Telemetry:
        """No value, and why there is none."""
        return Telemetry(**dict.fromkeys(TELEMETRY_NAMES, self._why))

    def fan_count(self) -> int | NotMeasured:
        """Not measured."""
        return self._why

    def resolution(self) -> Resolution:
        """The usual steps; nothing is read with them."""
        return Resolution()

    def temperature_limits(self) -> TemperatureLimits:
        """Not measured."""
        return TemperatureLimits(self._why, self._why, self._why)

    def ratings(self) -> OwnRatings:
        """Not measured."""
        why = self._why
        return OwnRatings(why, why, why, why, why, why)

    def sources(self) -> Mapping[str, Source]:
        """None: there is no value."""
        return {}
