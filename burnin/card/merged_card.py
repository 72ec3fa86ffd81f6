"""One card made of what all its readers tell.

Which reader a single value is taken from: `burnin.card.offered_values`. Counters are those of all
readers; outputs and configuration space of the first that has them. What nobody offers is not
measured, and its reason says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TypeVar, cast

from burnin.card.capabilities import (
    Counter,
    CountsErrors,
    CountsMemoryErrors,
    DetectsDisplays,
    HasConfigurationSpace,
    Link,
    LinkEnd,
    Output,
    ProcessUse,
    ReportsLink,
    TellsPosition,
    TellsProcesses,
    TellsSteps,
)
from burnin.card.meanings import CardReason, CardSource
from burnin.card.offered_values import OfferedValues
from burnin.card.pci.config_space import ConfigurationSpace
from burnin.card.source import (
    FAN_COUNT,
    FREE_MEMORY,
    IDENTITY_NAMES,
    LIMIT_NAMES,
    LINK_NAMES,
    RATING_NAMES,
    VALUE_NAMES,
    CardPlace,
    Reader,
    ShowsWindows,
)
from burnin.card.topology import CardPosition
from burnin.core.identity import Identity, TemperatureLimits
from burnin.core.meaning import Source, distinct
from burnin.core.ratings import OwnRatings
from burnin.core.reading import NotMeasured
from burnin.core.sample import TELEMETRY_NAMES, Resolution, Telemetry

T = TypeVar("T")

_NUMBERS = ("vendor_id", "device_id", "class_code")
"""Numbers of an identity that are 0 where nobody could read them."""


class MergedCard:
    """A card read through several readers, by the name of each one's source."""

    def __init__(
        self,
        place: CardPlace,
        readers: Mapping[str, Reader],
        left_out: Mapping[str, NotMeasured] | None = None,
    ) -> None:
        """`left_out`: sources that have no reader of this card, and why."""
        self.place = place
        self.left_out: Mapping[str, NotMeasured] = left_out or {}
        self._readers = readers
        self._values = OfferedValues(readers, self.left_out)

    def identity(self) -> Identity:
        """Identity as read now; an id that cannot be read at all is 0."""
        values = dict(self._values.read(IDENTITY_NAMES).values)
        for name in _NUMBERS:
            if isinstance(values[name], NotMeasured):
                values[name] = (self.place.vendor_id or 0) if name == "vendor_id" else 0
        windows = [r.windows() for r in self._readers.values() if isinstance(r, ShowsWindows)]
        return Identity(
            address=self.place.address,
            bars=windows[0] if windows else (),
            simulated=self.place.simulated,
            **values,  # type: ignore[arg-type]  # by name; `fits` has looked at each
        )

    def present(self) -> bool:
        """Whether the card answers all its readers."""
        return all(reader.present() for reader in self._readers.values())

    def configuration_space(self) -> ConfigurationSpace | NotMeasured:
        """The bytes that the privilege at hand allows."""
        answers = (
            reader.configuration_space()
            for reader in self._readers.values()
            if isinstance(reader, HasConfigurationSpace)
        )
        return self._first(answers, "configuration_space")

    def configuration_space_at(self, end: str) -> ConfigurationSpace | NotMeasured:
        """The bytes of one end of the slot's link, ``card`` or ``port``."""
        answers = (
            reader.configuration_space_at(end)
            for reader in self._readers.values()
            if isinstance(reader, HasConfigurationSpace)
        )
        return self._first(answers, "configuration_space")

    def link(self) -> Link:
        """Both ends; each value of the card's end from the reader that knows it best."""
        links = {
            name: reader.link()
            for name, reader in self._readers.items()
            if isinstance(reader, ReportsLink)
        }
        if not links:
            why = NotMeasured(self._values.nobody_offers("link"))
            return Link(LinkEnd(why, why, why, why, CardSource.NONE()), why)
        ports = [link.port for link in links.values()]
        told = [port for port in ports if not isinstance(port, NotMeasured)]
        return Link(self._own_end({n: link.card for n, link in links.items()}), (told or ports)[0])

    def position(self) -> CardPosition | NotMeasured:
        """Where in the machine the card sits."""
        answers = (r.position() for r in self._readers.values() if isinstance(r, TellsPosition))
        return self._first(answers, "position")

    def process_use(self, pid: int) -> ProcessUse | NotMeasured:
        """What the card's driver says of a process; of several answers one that has seen it."""
        answers = [
            r.process_use(pid) for r in self._readers.values() if isinstance(r, TellsProcesses)
        ]
        seen = [a for a in answers if not isinstance(a, NotMeasured) and a.there]
        return seen[0] if seen else self._first(answers, "process_use")

    def _own_end(self, ends: Mapping[str, LinkEnd]) -> LinkEnd:
        by: dict[str, str] = {}
        for value in LINK_NAMES:
            order = [name for name in self._values.order(value) if name in ends] or list(ends)
            measured = [
                name for name in order if not isinstance(getattr(ends[name], value), NotMeasured)
            ]
            by[value] = (measured or order)[0]
        now, most = ends[by["speed_gts"]].source, ends[by["max_speed_gts"]].source
        return LinkEnd(
            speed_gts=ends[by["speed_gts"]].speed_gts,
            width_lanes=ends[by["width_lanes"]].width_lanes,
            max_speed_gts=ends[by["max_speed_gts"]].max_speed_gts,
            max_width_lanes=ends[by["max_width_lanes"]].max_width_lanes,
            source=now if now == most else CardSource.NOW_AND_AT_MOST(now=now, at_most=most),
        )

    def error_counters(self) -> tuple[Counter, ...] | NotMeasured:
        """Counters of all readers; each tells its source."""
        readers = [r for r in self._readers.values() if isinstance(r, CountsErrors)]
        return self._all([reader.error_counters() for reader in readers], "error_counters")

    def memory_errors(self) -> tuple[Counter, ...] | NotMeasured:
        """Counters of the card's memory protection (ECC), of all readers."""
        readers = [r for r in self._readers.values() if isinstance(r, CountsMemoryErrors)]
        return self._all([reader.memory_errors() for reader in readers], "memory_errors")

    def free_memory_bytes(self) -> int | NotMeasured:
        """Memory that nothing uses now."""
        value = self._values.read((FREE_MEMORY,)).values[FREE_MEMORY]
        return cast("int | NotMeasured", value)

    def fan_count(self) -> int | NotMeasured:
        """How many fans the card has, also those that nobody can read."""
        value = self._values.read((FAN_COUNT,)).values[FAN_COUNT]
        return cast("int | NotMeasured", value)

    def outputs(self) -> tuple[Output, ...] | NotMeasured:
        """Every output with its state."""
        answers = (r.outputs() for r in self._readers.values() if isinstance(r, DetectsDisplays))
        return self._first(answers, "outputs")

    def telemetry(self) -> Telemetry:
        """One reading of all sensors."""
        values = self._values.read(TELEMETRY_NAMES).values
        return Telemetry(**values)  # type: ignore[arg-type]  # by name; `fits` has looked at each

    def temperature_limits(self) -> TemperatureLimits:
        """Thresholds that the card names."""
        values = self._values.read(LIMIT_NAMES).values
        return TemperatureLimits(**values)  # type: ignore[arg-type]  # as above

    def ratings(self) -> OwnRatings:
        """What the card was made for; transfers a clock belong to the reader of that clock."""
        values = dict(self._values.read(RATING_NAMES).values)
        return OwnRatings(**values)  # type: ignore[arg-type]  # as above

    def resolution(self) -> Resolution:
        """The steps of the readers that tell temperature and power; the slower one's refresh."""
        temp, power = self._steps_of("gpu_temp_c"), self._steps_of("power_w")
        slower = max(temp, power, key=lambda steps: steps.refresh_s)
        told = {"temp_c": temp, "power_w": power, "refresh_s": slower}
        return Resolution(
            temp_c=temp.temp_c,
            power_w=power.power_w,
            refresh_s=slower.refresh_s,
            sources={
                name: steps.sources[name] for name, steps in told.items() if name in steps.sources
            },
        )

    def sources(self) -> Mapping[str, Source]:
        """Where each value that is measured now is from, by its name."""
        return {
            value: self._readers[name].source(value)
            for value, name in self._values.read(VALUE_NAMES).by.items()
        }

    def _steps_of(self, value: str) -> Resolution:
        """Steps of the reader that measures this value now, else of the one that offers it."""
        measured = self._values.read((value,)).by.get(value)
        for name in ([measured] if measured else []) + list(self._values.order(value)):
            reader = self._readers[name]
            if isinstance(reader, TellsSteps):
                return reader.resolution()
        return Resolution()

    def _first(self, answers: Iterable[T | NotMeasured], value: str) -> T | NotMeasured:
        """The first answer that is measured, or why there is none."""
        missing: list[NotMeasured] = []
        for answer in answers:
            if not isinstance(answer, NotMeasured):
                return answer
            missing.append(answer)
        return self._missing(missing, value)

    def _all(
        self, answers: Sequence[tuple[Counter, ...] | NotMeasured], value: str
    ) -> tuple[Counter, ...] | NotMeasured:
        """All counters of all answers, or why there are none."""
        missing = [answer for answer in answers if isinstance(answer, NotMeasured)]
        if len(missing) == len(answers):
            return self._missing(missing, value)
        return tuple(c for a in answers if not isinstance(a, NotMeasured) for c in a)

    def _missing(self, missing: Sequence[NotMeasured], value: str) -> NotMeasured:
        reasons = distinct([answer.reason for answer in missing])
        if not reasons:
            return NotMeasured(self._values.nobody_offers(value))
        if len(reasons) == 1:
            return NotMeasured(reasons[0])
        return NotMeasured(CardReason.SEVERAL(reasons=reasons))
