"""When a profile ends a load: the `[guards]` table of its format.

Each built-in guard has its own few settings here; `Guards` is all of them in one table. A guard of
another package brings its own (`AddedGuard`) and is asked for by name:

```toml
[[guards.added]]
guard = "its name"
```

Sources: what a value is from stands beside it in each profile; defaults are common practice.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Annotated, Any, Literal, get_args

from pydantic import BeforeValidator, Field, SerializeAsAny

from burnin.core.errors import BadInput
from burnin.core.seams import members
from burnin.profile.parts import Celsius, Part


class Approach(Part):
    """How near a temperature may come: what is counted before its limit is reached."""

    temp_margin_c: float = Field(
        default=0.5, ge=0.0, le=30.0, description="kept free below each temperature limit"
    )
    sensor_lag_s: float = Field(
        default=1.0, ge=0.0, le=10.0, description="how far a sensor's reading lies behind"
    )
    stop_latency_s: float = Field(
        default=0.1, ge=0.0, le=5.0, description="from a guard's decision to no more work"
    )


class GpuLimit(Approach):
    """The hottest that the GPU may become."""

    gpu_temp_limit_c: Celsius = Field(description="the load ends before the GPU reaches this")


class HotSpotLimit(Approach):
    """The hottest that the die's hot spot may become."""

    hotspot_temp_limit_c: Celsius | None = Field(
        default=None, description="the load ends before the hot spot reaches this"
    )


class MemoryLimit(Approach):
    """The hottest that the memory may become."""

    memory_temp_limit_c: Celsius | None = Field(
        default=None, description="the load ends before the memory reaches this"
    )


class RateLimit(Part):
    """The fastest that the GPU may warm."""

    temp_rate_limit_c_per_s: float = Field(
        default=12.0, gt=0.0, le=50.0, description="fastest mean rise over rate_window_s"
    )
    rate_window_s: float = Field(
        default=4.0, ge=1.0, le=60.0, description="time over which a rise is a mean"
    )


class HotSpotOverGpu(Part):
    """The most that the hot spot may lie over the GPU."""

    hotspot_delta_limit_k: float | None = Field(
        default=None, gt=0.0, le=80.0, description="most that the hot spot may lie over the GPU"
    )


class BoardPower(Part):
    """The most that the board may draw."""

    power_limit_w: float | None = Field(
        default=None, gt=0.0, le=2000.0, description="more than this for a second ends the load"
    )


class StaleData(Part):
    """How long a load goes on without being seen."""

    stale_after_s: float = Field(
        default=5.0, gt=0.2, le=60.0, description="age at which an unreadable sensor ends the load"
    )


class StuckSensor(Part):
    """Whether a temperature must answer to power."""

    answers_from_w: float | None = Field(
        default=None,
        gt=0.0,
        le=2000.0,
        description="a rise of power by so much must move the GPU's temperature; "
        "left out: not watched",
    )
    answers_within_s: float = Field(
        default=8.0, gt=0.0, le=120.0, description="within so long after that rise"
    )


class Forecast(HotSpotLimit, GpuLimit):
    """Whether the cooling is identified, and what is known of it."""

    forecast: bool = Field(
        default=False,
        description="identify the cooling under way and end a load whose power, held, would cross "
        "a limit; the simple guards stand behind it in any case",
    )
    forecast_margin_c: float | None = Field(
        default=None,
        ge=0.0,
        le=30.0,
        description="kept free below each limit by the forecast; left out: temp_margin_c",
    )
    cooling: Literal["fans", "water", "stream"] | None = Field(
        default=None,
        description="for the forecast: what takes the heat off the card, its own fans, a water "
        "loop, or a stream of air that the chassis moves",
    )


class HeatThrottle(Part):
    """Whether the card's own word counts."""

    stop_on_heat_throttle: bool = Field(
        default=True, description="the card slowing itself down for heat ends the load"
    )


class AddedGuard(Part):
    """Settings of a guard from another package; it narrows `guard` to the Literal of its name."""

    guard: str


def added_settings() -> dict[str, type[AddedGuard]]:
    """Settings of every registered guard that a profile asks for by name."""
    found: dict[str, type[AddedGuard]] = {}
    for name, kind in members("guards").items():
        settings = getattr(kind, "settings", None)
        if not (isinstance(settings, type) and issubclass(settings, Part)):
            raise BadInput(f"guard {name!r} is registered without settings (a Part or AddedGuard)")
        if not issubclass(settings, AddedGuard):
            continue
        if get_args(settings.model_fields["guard"].annotation) != (name,):
            raise BadInput(f"guard {name!r}: {settings.__name__}.guard must be Literal[{name!r}]")
        found[name] = settings
    return found


def _typed(given: object) -> object:
    """Each added table as the settings of its guard; raises what pydantic makes a fault of."""
    if not isinstance(given, Sequence) or isinstance(given, str):
        return given
    return tuple(_added(table) if isinstance(table, Mapping) else table for table in given)


def _added(table: Mapping[str, object]) -> AddedGuard:
    name, known = table.get("guard"), added_settings()
    if not isinstance(name, str) or name not in known:
        there = ", ".join(known) or "none is registered"
        raise ValueError(f"no guard named {name!r} that could be added; there are: {there}")
    # JSON mode takes TOML's arrays as tuples and stays strict in all else.
    return known[name].model_validate_json(json.dumps(table))


def _show_added(schema: dict[str, Any]) -> None:
    """In the JSON Schema: what each registered guard may be given."""
    shown = [settings.model_json_schema() for settings in added_settings().values()]
    schema["items"] = {"oneOf": shown} if shown else False


MOST_LIMIT_C = {
    "gpu_temp_limit_c": 110.0,
    "hotspot_temp_limit_c": 120.0,
    "memory_temp_limit_c": 120.0,
}
"""Above these no limit has a sense: dies and memories shut themselves down at 90 to 110 °C, hot
spots and stacked memory at up to 115 °C (makers' limits, from memory)."""
MOST_WITHOUT_OWN_WORD_C = 100.0
"""Where the card's own slowing down for heat ends nothing, its die must be kept below this."""


class Guards(
    HeatThrottle,
    Forecast,
    StuckSensor,
    StaleData,
    BoardPower,
    HotSpotOverGpu,
    RateLimit,
    MemoryLimit,
    HotSpotLimit,
    GpuLimit,
):
    """When a load is ended. Temperatures in °C, counted before the limit is reached."""

    added: Annotated[tuple[SerializeAsAny[AddedGuard], ...], BeforeValidator(_typed)] = Field(
        default=(),
        description="guards of other packages, each with its own settings",
        json_schema_extra=_show_added,
    )

    def beyond_sense(self) -> Iterator[str]:
        """Limits that no card would meet before it ends itself; each begins with its field."""
        for name, most_c in MOST_LIMIT_C.items():
            given_c = getattr(self, name)
            if given_c is not None and given_c > most_c:
                yield (
                    f"{name} = {given_c:g} lies above {most_c:g}: cards end themselves before, so"
                    " that nothing would end a load in time"
                )
        if self.gpu_temp_limit_c > MOST_WITHOUT_OWN_WORD_C and not self.stop_on_heat_throttle:
            yield (
                f"gpu_temp_limit_c = {self.gpu_temp_limit_c:g} lies above"
                f" {MOST_WITHOUT_OWN_WORD_C:g}, and with stop_on_heat_throttle = false the card's"
                " own slowing down ends nothing either"
            )
