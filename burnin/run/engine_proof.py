"""Proof, before the first load, that the engine works the card under test and no other.

By the card's UUID or its bus address where the engine's API tells one; else by the process that the
driver says uses the card; else by a pattern of gentle slices that only this run has. Other cards
may be worked by other runs all the while. What heat it took counts in the budget of a block that
may be dry.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import islice
from typing import Any

from burnin.card.capabilities import Card, TellsProcesses
from burnin.core.errors import EngineError
from burnin.core.meaning import Reason
from burnin.core.reading import NotMeasured, judge, judge_text, known
from burnin.core.sample import Sample
from burnin.engine.burst_pattern import BLOCK_CHIPS, CHIP_S, FOLLOWS_T, MOST_CHIPS, Work, chips
from burnin.engine.engine import WorksInProcess
from burnin.engine.gentle_share import GentleShare
from burnin.engine.job import ArithmeticLoad
from burnin.engine.meanings import EngineReason
from burnin.engine.proof import (
    CardTrace,
    ProcessSeen,
    Proof,
    by_address,
    by_pattern,
    by_process,
    by_uuid,
)
from burnin.run.plan import RunPlan
from burnin.run.reasons import RunReason
from burnin.stages.context import StageContext
from burnin.stages.working import SteadyLoad, steady_load

PROVEN, NOT_THIS_CARD = "proven", "not this card"
"""Values of the reading ``engine_works_this_card``."""
_BEGINS_WITHIN_S = 15.0
"""Kernels are made and memory is taken before the first slice; later slices are given all the
same, and tell by themselves that nothing works."""
_IDLE_S = 1.0
_OWNER_S = 1.0
"""For how long the engine works gently before a driver is asked which process used the card."""


class EngineProven:
    """Once in a run, before its first load: does the engine work this card?"""

    def __init__(self, plan: RunPlan) -> None:
        self._plan = plan
        self._proven = plan.bench.no_card is not None
        self._other_card: Reason | None = None
        self._energy_j = 0.0

    def before_load(self, context: StageContext[Any]) -> None:
        """Prove it where that was not done yet; raises EngineError where it works another card.

        The heat that it took is on record for the stage, and for each later one.
        """
        bench = self._plan.bench
        if self._other_card is not None:
            raise EngineError(self._other_card)
        context.joules_before = self._energy_j
        if self._proven or isinstance(bench.engine, NotMeasured):
            return
        proof = prove_engine(context, bench.card, bench.other_cards, self._drawn_from())
        self._energy_j = context.joules_before
        if proof.proven is False:
            self._other_card = RunReason.OTHER_CARD_WORKED(reason=proof.why)
            raise EngineError(self._other_card)
        self._proven = True

    def _drawn_from(self) -> str:
        """What the order of the proof's slices is drawn from: on a simulated machine its seed."""
        opening = self._plan.opening
        return f"seed {opening.simulated_seed}" if opening.simulated else opening.run_id


def prove_engine(
    context: StageContext[Any], card: Card, others: Sequence[Card], run_id: str
) -> Proof:
    """Find out whose card works, under every guard; readings tell, and what heat it took."""
    engine = context.engine
    assert not isinstance(engine, NotMeasured)
    told, identity = engine.description(), card.identity()
    proof = by_uuid(told.uuid, identity.uuid) or by_address(told.address, identity.address)
    if proof is None:
        gentle = GentleShare(_idle_w(context))
        try:
            with steady_load(context, ArithmeticLoad(0.0)) as load:
                proof = _owner(context, load, gentle, card, others)
                if proof is None:
                    proof = _pattern(context, load, gentle, card, others, run_id)
        finally:
            context.joules_before += gentle.energy_j
            if gentle.knows_idle:
                context.take(judge("engine_proof_j", gentle.energy_j, "J", None, required=False))
    _take(context, proof)
    return proof


def _idle_w(context: StageContext[Any]) -> float | None:
    """The card's power at rest, in the mean over a moment; None where it tells none."""
    watts: list[float] = []

    def each() -> None:
        last = context.watch.last
        power_w = None if last is None else known(last.telemetry.power_w)
        if power_w is not None:
            watts.append(power_w)

    context.rest(_IDLE_S, each)
    return sum(watts) / len(watts) if watts else None


def _take(context: StageContext[Any], proof: Proof) -> None:
    told: str | NotMeasured
    if isinstance(proof.proven, NotMeasured):
        told = proof.proven
    else:
        told = PROVEN if proof.proven else NOT_THIS_CARD
    reading = judge_text(
        "engine_works_this_card",
        told,
        (PROVEN,),
        source=proof.source,
        required=False,
        why_fail=proof.why,
    )
    context.take(reading)


def _owner(
    context: StageContext[Any],
    load: SteadyLoad,
    gentle: GentleShare,
    card: Card,
    others: Sequence[Card],
) -> Proof | None:
    """By the process that uses the card, where engine and drivers tell of processes."""
    pid = context.engine.process_id() if isinstance(context.engine, WorksInProcess) else None
    if pid is None or _seen(card, pid) is None:
        return None
    see = _seeing(gentle)
    load.until_begun(_BEGINS_WITHIN_S, see)
    before = [_seen(each, pid) for each in (card, *others)]
    load.step(gentle.share, _OWNER_S, see)
    mine, *theirs = zip(before, [_seen(each, pid) for each in (card, *others)], strict=True)
    load.step(0.0, CHIP_S, see)
    return by_process(pid, mine, theirs)


def _seeing(gentle: GentleShare) -> Callable[[Sample], None]:
    """Counts the heat of each sample."""
    return lambda sample: gentle.see(sample.elapsed_s, known(sample.telemetry.power_w))


def _seen(card: TellsProcesses, pid: int) -> ProcessSeen | None:
    use = card.process_use(pid)
    return None if isinstance(use, NotMeasured) else ProcessSeen(use.there, use.busy_ns)


def _pattern(
    context: StageContext[Any],
    load: SteadyLoad,
    gentle: GentleShare,
    card: Card,
    others: Sequence[Card],
    run_id: str,
) -> Proof:
    """By slices of work in an order that only this run has."""
    mine = CardTrace(card.identity().address)
    theirs = [(other, CardTrace(other.identity().address)) for other in others]
    work, see = Work(), _seeing(gentle)
    load.until_begun(_BEGINS_WITHIN_S, see)

    def on_sample(sample: Sample) -> None:
        mine.add(sample.elapsed_s, sample.telemetry)
        see(sample)
        for other, trace in theirs:
            at_s = context.watch.elapsed_s()
            trace.add(at_s, other.telemetry())

    for number, on in enumerate(islice(chips(run_id), MOST_CHIPS), start=1):
        work.switch(context.watch.elapsed_s(), on)
        chip_s = max(CHIP_S, 2.5 * context.sample_interval_s)
        load.step(gentle.share if on else 0.0, chip_s, on_sample)
        if number % BLOCK_CHIPS:
            continue
        strongest = mine.strongest(work)
        gentle.next(seen=max(strongest.values(), default=0.0) >= FOLLOWS_T)
        spent_j = gentle.energy_j if gentle.spent else None
        traces = [trace for _, trace in theirs]
        proof = by_pattern(mine, strongest, traces, work, spent_j=spent_j)
        if proof is not None:
            return proof
    return Proof(False, EngineReason.NO_COUNTER_FOLLOWED(slices_count=work.slices))
