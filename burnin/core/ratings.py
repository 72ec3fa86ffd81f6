"""What a card says that it was made for: own power limit, highest clocks, memory width."""

from __future__ import annotations

from dataclasses import dataclass

from burnin.core.reading import NotMeasured, ReadingReason, known

_NOT_READ = NotMeasured(ReadingReason.NOT_READ())


@dataclass(frozen=True)
class OwnRatings:
    """What a card and its driver name, each value or why there is none.

    `own_power_limit_w` is the limit that the board came with, `set_power_limit_w` the one that is
    in force now: somebody, the driver or the sense lines of a plug may have lowered it.
    `most_core_clock_mhz` and `most_memory_clock_mhz` are the highest that the driver may choose.
    `memory_bus_bits`: data lines of the memory, all chips together. `memory_per_clock`: transfers a
    line in one of that clock, where the source defines it.
    """

    own_power_limit_w: float | NotMeasured = _NOT_READ
    set_power_limit_w: float | NotMeasured = _NOT_READ
    most_core_clock_mhz: float | NotMeasured = _NOT_READ
    most_memory_clock_mhz: float | NotMeasured = _NOT_READ
    memory_bus_bits: float | NotMeasured = _NOT_READ
    memory_per_clock: float | NotMeasured = _NOT_READ

    def memory_peak_gbs(self, clock_mhz: float) -> float | None:
        """What the memory carries at a clock, GB/s: transfers a clock × clock × width / 8.

        None where width or transfers are not known.
        """
        bits, per_clock = known(self.memory_bus_bits), known(self.memory_per_clock)
        if not bits or not per_clock:
            return None
        return per_clock * clock_mhz * 1e6 * bits / 8.0 / 1e9
