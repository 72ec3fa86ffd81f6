"""The run of one card of a batch, in a process of its own: like any other, but that it asks leave.

It shows nothing: the keeper does. It hears a stop by signal as any run does, and ends too where its
keeper is gone.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from burnin.cli.around_run.after_run import after_run
from burnin.cli.around_run.said_beforehand import said_beforehand
from burnin.cli.batch.asking import AsksKeeper
from burnin.cli.batch.refusals import BatchRefusal
from burnin.cli.batch.telling import TellsKeeper
from burnin.cli.request import Wish, begin
from burnin.cli.stop_signals import StopAsked
from burnin.core.errors import BadInput
from burnin.core.files.own_process import gives_way
from burnin.core.meaning import Reason
from burnin.core.verdict import EXIT_CODES
from burnin.report.languages.catalogue import Catalogue, catalogue
from burnin.run.desk.at_desk import AtDesk
from burnin.run.desk.desk import Desk
from burnin.run.leave.letters import Began, HasEnded
from burnin.run.leave.of_batch import OfBatch
from burnin.run.plan import RunOutcome, RunPlan
from burnin.run.session import carry_out_with_sinks

if TYPE_CHECKING:
    from burnin.stages.context import Prompter

_LOOK_EVERY_S = 0.1
_NICER = 10
"""A sheet that is made takes no time from the samples of cards that are still at work."""


def run_card_of_batch(
    wish: Wish,
    keeper_at: Callable[[int], OfBatch] = OfBatch,
    make: Callable[[RunPlan, RunOutcome, Catalogue], object] = after_run,
) -> int:
    """Carry out the card's run; the exit code is that of its verdict. Raises BurninError.

    `keeper_at` opens the way to the keeper, `make` makes the sheet and whatever else follows.
    """
    try:
        keeper = keeper_at(wish.batch_socket)
    except OSError as error:
        raise BadInput(BatchRefusal.KEEPERS_OWN()) from error
    tells, stop = TellsKeeper(keeper), StopAsked()
    try:
        with stop:
            outcome, plan = _run(wish, keeper, tells, stop)
            keeper.send(HasEnded(outcome.verdict, outcome.reason))
            gives_way(_NICER)
            make(plan, outcome, catalogue(wish.language))
    finally:
        tells.end()
        keeper.close()
    return EXIT_CODES[outcome.verdict]


def _run(
    wish: Wish, keeper: OfBatch, tells: TellsKeeper, stop: StopAsked
) -> tuple[RunOutcome, RunPlan]:
    def stop_asked() -> bool | Reason:
        return stop.why() or keeper.why_stop()

    plan, desk = begin(wish), Desk()
    keeper.engine = plan.bench.engine
    prompter = _prompter(wish, plan, keeper, desk, stop_asked)
    plan = replace(plan, prompter=prompter, stop_asked=stop_asked, leave=keeper)
    keeper.send(Began(str(plan.folder), plan.opening.run_id, keeper.worker_pid()))
    while not (keeper.begin(_LOOK_EVERY_S) or stop_asked()):
        pass
    return carry_out_with_sinks(plan, (tells,), desk=desk), plan


def _prompter(
    wish: Wish,
    plan: RunPlan,
    keeper: OfBatch,
    desk: Desk,
    stop_asked: Callable[[], bool | Reason],
) -> Prompter:
    said = said_beforehand(wish, plan.bench)
    if said is not None:
        return said
    return AtDesk(AsksKeeper(keeper, lambda: bool(stop_asked()) or desk.disturbs()), desk)
