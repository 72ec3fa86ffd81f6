"""Proof, before the first load, that the engine works the card under test and no other.

An API may give no bus address, and a bench may hold two cards alike. So a short burst must move
this card's own counters (busy share, power, clock), and those of no other card.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from burnin.card.capabilities import ReadsTelemetry
from burnin.core.reading import NotMeasured, judge_text
from burnin.core.sample import Sample, Telemetry
from burnin.engine.job import ArithmeticLoad
from burnin.engine.proof import BURST_S, BURST_SHARE, Proof, judge_burst
from burnin.stages.context import StageContext
from burnin.stages.working import steady_load

_SOFT_START_S = 4.0

PROVEN, NOT_THIS_CARD = "proven", "not this card"
"""Values of the reading ``engine_works_this_card``."""


def prove_engine(context: StageContext[Any], others: Sequence[ReadsTelemetry]) -> Proof:
    """Work for a moment under every guard and see whose counters move; a reading tells."""
    before = context.watch.look(context.stage).telemetry
    before_others = [card.telemetry() for card in others]
    during: list[Telemetry] = []

    def on_sample(sample: Sample) -> None:
        during.append(sample.telemetry)

    with steady_load(context, ArithmeticLoad(0.0)) as load:
        load.hold(BURST_SHARE, _SOFT_START_S + BURST_S, on_sample)
        during_others = [card.telemetry() for card in others]
    proof = judge_burst(
        (before, during[-1]), list(zip(before_others, during_others, strict=True))
    )
    told: str | NotMeasured
    if isinstance(proof.proven, NotMeasured):
        told = proof.proven
    else:
        told = PROVEN if proof.proven else NOT_THIS_CARD
    context.take(
        judge_text(
            "engine_works_this_card",
            told,
            (PROVEN,),
            source=proof.source,
            required=False,
            why_fail=proof.why,
        )
    )
    return proof
