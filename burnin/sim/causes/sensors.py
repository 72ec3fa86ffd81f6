"""Faults of sensors and counters: what their files answer is not what there is."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import ConfigDict, Field, model_validator

from burnin.sim.causes.cause import Cause, ComesAndGoes, Positive, Seconds

SensorName = Literal["die", "hotspot", "memory", "power", "energy", "fan", "fan2", "fan3", "fan4"]
FANS: tuple[SensorName, ...] = ("fan", "fan2", "fan3", "fan4")
"""The tachometer of each fan, the first one first."""


class SensorCause(ComesAndGoes):
    """A sensor that lies: offset, stuck at `value`, slow, noisy, unreadable, or slow to answer.

    `bias`, `value` and `noise` (one standard deviation) are in °C, W, J or rpm, whichever the
    sensor reads; `value` and `bias` may be `nan` or `inf`. Stuck without `value`: it repeats what
    it told when the fault came. `unreadable`: its file answers EIO. `lag_s` is the time constant of
    a slow one; `hangs_s` is for how long a read of one that `hangs` waits.

    It comes after `after_s`, or after `after_load_s` under load, and goes: after `for_reads` reads
    of its file, or by `every_s` and `for_s`.
    """

    model_config = ConfigDict(allow_inf_nan=True)

    kind: Literal["sensor"]
    sensor: SensorName
    state: Literal["biased", "stuck", "slow", "noisy", "unreadable", "hangs"]
    bias: float | None = None
    value: float | None = None
    lag_s: Positive | None = None
    noise: Positive | None = None
    hangs_s: Annotated[float, Field(gt=0.0, le=600.0)] | None = None
    after_load_s: Seconds | None = None
    for_reads: Annotated[int, Field(ge=1)] | None = None

    @model_validator(mode="after")
    def _numbers(self) -> SensorCause:
        for name, state in (
            ("bias", "biased"), ("lag_s", "slow"), ("noise", "noisy"), ("hangs_s", "hangs")
        ):  # fmt: skip
            if (self.state == state) != (getattr(self, name) is not None):
                raise ValueError(f"{name} is needed with state {state!r} and only there")
        if self.state != "stuck" and self.value is not None:
            raise ValueError("value goes with state 'stuck' only")
        if self.sensor == "energy" and self.state in ("slow", "noisy"):
            raise ValueError("sensor 'energy' is a counter: it is neither slow nor noisy")
        if self.after_load_s is not None and (self.after_s or self.every_s or self.for_s):
            raise ValueError("after_load_s goes without after_s, every_s and for_s")
        self.check_times()
        return self

    def there(self, uptime_s: float, load_s: float) -> bool:
        """Whether it is there by then, however often it was read."""
        if self.after_load_s is not None:
            return load_s >= self.after_load_s
        return self.on_at(uptime_s)


class CounterCause(Cause):
    """A counter that begins again at 0, or that has few bits.

    `energy`: the card's energy counter, in microjoules. `link_errors`: the kernel's counters of
    correctable link errors, of both ends. `restarts`: once, after `after_s` from power-on or after
    `after_load_s` under load. `wraps`: it counts in so many `bits`.
    """

    kind: Literal["counter"]
    counter: Literal["energy", "link_errors"]
    state: Literal["restarts", "wraps"]
    bits: Annotated[int, Field(ge=1, le=63)] | None = None
    after_s: Seconds | None = None
    after_load_s: Seconds | None = None

    @model_validator(mode="after")
    def _fits(self) -> CounterCause:
        times = (self.after_s is not None) + (self.after_load_s is not None)
        if times != (1 if self.state == "restarts" else 0):
            raise ValueError(
                "state 'restarts' needs one of after_s and after_load_s, 'wraps' takes neither"
            )
        if (self.state == "wraps") != (self.bits is not None):
            raise ValueError("bits is needed with state 'wraps' and only there")
        return self

    def come(self, uptime_s: float, load_s: float) -> bool:
        """Whether the time of a restart has come."""
        if self.after_s is not None:
            return uptime_s >= self.after_s
        return self.after_load_s is not None and load_s >= self.after_load_s
