"""Proof, before the first load, that the engine works the card under test and no other.

An API may give no bus address, and a bench may hold two cards alike. So a short burst must move
this card's own counters (busy share, power, clock), and those of no other card.
"""

from __future__ import annotations

from collections.abc import Sequence

from burnin.card.card import Card
from burnin.core.reading import NotMeasured, judge_text
from burnin.core.sample import Sample, Telemetry
from burnin.engine.job import ArithmeticLoad
from burnin.engine.proof import BURST_S, BURST_SHARE, Proof, judge_burst
from burnin.stages.context import StageContext
from burnin.stages.load import steady_load

_SOFT_START_S = 4.0


def prove_engine(context: StageContext, others: Sequence[Card]) -> Proof:
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
    told = proof.proven if isinstance(proof.proven, NotMeasured) else _word(proof.proven)
    context.take(
        judge_text(
            "engine_works_this_card",
            told,
            ("proven",),
            source=proof.why,
            required=False,
            why_fail=proof.why,
        )
    )
    return proof


def _word(proven: bool) -> str:
    return "proven" if proven else "not this card"
