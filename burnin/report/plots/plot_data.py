"""What a plot of a run shows, in words of one language; times in seconds since the run's start."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class Line:
    """One curve. `dash` is solid, dashed, dotted or dashdot: curves differ without colour."""

    name: str
    unit: str
    dash: str
    x_s: tuple[float, ...]
    y: tuple[float | None, ...]
    steps: bool = False


@dataclass(frozen=True)
class LimitLine:
    """A limit that held from `from_s` to `to_s` (None: the whole run); `figure` as it is told."""

    label: str
    value: float
    figure: str
    from_s: float | None = None
    to_s: float | None = None


@dataclass(frozen=True)
class ForecastLine:
    """A guard's expectation: from the value at `from_s` to the limit at `to_s`."""

    text: str
    from_s: float
    from_value: float
    to_s: float
    to_value: float


@dataclass(frozen=True)
class Band:
    """What was foreseen with 95 %: between `low` and `high` at each moment.

    `ahead`: from one moment on; else around what came.
    """

    label: str
    x_s: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    ahead: bool = False


@dataclass(frozen=True)
class WarningMark:
    """A warning from `at_s` until `over_s` (None: to the end); `at` is that moment as told."""

    at_s: float
    over_s: float | None
    at: str
    text: str


@dataclass(frozen=True)
class Panel:
    """Curves that share an axis, with their limits and forecasts; `name` is the same everywhere."""

    name: str
    title: str
    axis: str
    lines: tuple[Line, ...]
    limits: tuple[LimitLine, ...] = ()
    forecasts: tuple[ForecastLine, ...] = ()
    bands: tuple[Band, ...] = ()


@dataclass(frozen=True)
class StageBand:
    """The time that a stage took; `ended_s` None: to the end of the plot."""

    number: str
    title: str
    started_s: float
    ended_s: float | None

    @property
    def full(self) -> str:
        """Number and title."""
        return f"{self.number} {self.title}".strip()


@dataclass(frozen=True)
class TripMark:
    """The moment at which a guard ended the load; `at` is that moment as it is told."""

    at_s: float
    at: str
    text: str


@dataclass(frozen=True)
class Moment:
    """When something broke that a verdict rests on; `panel` is the name of where it shows."""

    at_s: float
    panel: str
    text: str


@dataclass(frozen=True)
class PlotData:
    """Everything that a plot of a run shows; `labels` are its words by name.

    `told`: lines that stand below the drawing.
    """

    language: str
    labels: Mapping[str, str]
    decimal: str
    heading: str
    banners: tuple[str, ...]
    panels: tuple[Panel, ...]
    stages: tuple[StageBand, ...]
    trips: tuple[TripMark, ...]
    end_s: float
    warnings: tuple[WarningMark, ...] = ()
    told: tuple[str, ...] = ()
    moments: tuple[Moment, ...] = ()
