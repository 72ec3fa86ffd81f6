"""Proof that an engine works the card under test and no other.

Vulkan tells no bus address. So a short burst of work must move that card's own counters (busy
share, power, core clock), and those of no other card in the bench.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from burnin.core.errors import EngineError
from burnin.core.reading import NotMeasured, known
from burnin.core.sample import Telemetry
from burnin.engine.engine import Engine
from burnin.engine.job import ArithmeticLoad, Failed

ReadTelemetry = Callable[[], Telemetry]

BURST_S = 1.0
BURST_SHARE = 0.5
BEAT_EVERY_S = 0.05
BUSY_RISE_PCT = 20.0
POWER_RISE_SHARE = 0.15
CLOCK_RISE_SHARE = 0.25
"""How far a counter must move to count; common practice, no source."""


@dataclass(frozen=True)
class Proof:
    """Whether this card worked and no other; `why` is a sentence for the record."""

    proven: bool | NotMeasured
    why: str


def moved(before: Telemetry, during: Telemetry) -> tuple[str, ...] | NotMeasured:
    """The counters that rose under work, in words; NotMeasured where the card has none."""
    found: list[str] = []
    readable = False
    for name, least_rise, least_share in (
        ("busy_pct", BUSY_RISE_PCT, 0.0),
        ("power_w", 3.0, POWER_RISE_SHARE),
        ("core_clock_mhz", 50.0, CLOCK_RISE_SHARE),
    ):
        was, is_now = known(getattr(before, name)), known(getattr(during, name))
        if was is None or is_now is None:
            continue
        readable = True
        if is_now - was >= max(least_rise, least_share * was):
            found.append(f"{name} {was:g} to {is_now:g}")
    if not readable:
        return NotMeasured("the card shows neither busy share, power nor clock")
    return tuple(found)


def judge_burst(
    card: tuple[Telemetry, Telemetry], others: Sequence[tuple[Telemetry, Telemetry]]
) -> Proof:
    """Judge telemetry (before, during) of the card and of every other one."""
    mine = moved(*card)
    if isinstance(mine, NotMeasured):
        return Proof(mine, mine.reason)
    strangers = [rise for pair in others if (rise := known(moved(*pair)))]
    if not mine:
        where = f"; another card's did: {'; '.join(strangers[0])}" if strangers else ""
        return Proof(False, f"work moved none of this card's counters{where}")
    if strangers:
        return Proof(False, f"work moved another card's counters too: {'; '.join(strangers[0])}")
    return Proof(True, f"work moved this card's counters and no other's: {'; '.join(mine)}")


def prove(
    engine: Engine,
    card: ReadTelemetry,
    others: Sequence[ReadTelemetry] = (),
    *,
    may_go_on: Callable[[Telemetry], bool] = lambda _: True,
) -> Proof:
    """Work for a second at half load and see whose counters move.

    `may_go_on` gets every sample of the card and ends the burst when it says no. Raises
    EngineError when the job fails.
    """
    before, before_others = card(), [read() for read in others]
    engine.begin(ArithmeticLoad(BURST_SHARE))
    during = before
    try:
        end_s = time.monotonic() + BURST_S
        while time.monotonic() < end_s:
            during = card()
            if not may_go_on(during):
                return Proof(NotMeasured("a guard ended the burst"), "a guard ended the burst")
            engine.beat()
            for event in engine.poll():
                if isinstance(event, Failed):
                    raise EngineError(event.reason)
            time.sleep(BEAT_EVERY_S)
        pairs = [(was, read()) for was, read in zip(before_others, others, strict=True)]
    finally:
        engine.stop()
    return judge_burst((before, during), pairs)
