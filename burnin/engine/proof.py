"""Proof that an engine works the card under test and no other.

Vulkan tells no bus address. So a short burst of work must move that card's own counters (busy
share, power, core clock), and those of no other card in the bench.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from burnin.core.errors import EngineError
from burnin.core.meaning import Reason, Source
from burnin.core.reading import NotMeasured, known
from burnin.core.sample import Telemetry
from burnin.engine.engine import Engine
from burnin.engine.job import ArithmeticLoad, Failed
from burnin.engine.meanings import EngineReason, EngineSource

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
    """Whether this card worked and no other, and by what that was seen."""

    proven: bool | NotMeasured
    why: Reason

    @property
    def source(self) -> Source:
        """How it was found out, for the record."""
        return EngineSource.COUNTERS_UNDER_WORK(seen=self.why)


def moved(before: Telemetry, during: Telemetry) -> tuple[Reason, ...] | NotMeasured:
    """The counters that rose under work; NotMeasured where the card has none."""
    found: list[Reason] = []
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
            found.append(EngineReason.COUNTER_ROSE(signal=name, before=was, during=is_now))
    if not readable:
        return NotMeasured(EngineReason.NO_COUNTERS())
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
        if strangers:
            return Proof(False, EngineReason.OTHER_CARD_MOVED(rises=strangers[0]))
        return Proof(False, EngineReason.NO_COUNTER_MOVED())
    if strangers:
        return Proof(False, EngineReason.OTHER_CARD_MOVED_TOO(rises=strangers[0]))
    return Proof(True, EngineReason.THIS_CARD_MOVED(rises=mine))


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
                ended = EngineReason.GUARD_ENDED_BURST()
                return Proof(NotMeasured(ended), ended)
            engine.beat()
            for event in engine.poll():
                if isinstance(event, Failed):
                    raise EngineError(event.reason)
            time.sleep(BEAT_EVERY_S)
        pairs = [(was, read()) for was, read in zip(before_others, others, strict=True)]
    finally:
        engine.stop()
    return judge_burst((before, during), pairs)
