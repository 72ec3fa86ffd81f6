"""A run with its sinks: one piece of code for the command, for programs and for tests.

Only the record is waited for. Every other sink of the stream may be slow or raise: it is detached
and named in the record, and the run goes on.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

from burnin.core.errors import RecordError
from burnin.core.files.private_files import private_folder
from burnin.core.meaning import Prompt, Reason
from burnin.core.reading import NotMeasured, known
from burnin.core.system import ours
from burnin.core.ticket_header import Ticket
from burnin.profile.loader import LoadedProfile, load_profile
from burnin.record.sinks import Sink, Stream, registered_sinks
from burnin.record.sums import SIGNATURE, SUMS_FILE, write_checksums
from burnin.record.writer import RecordWriter
from burnin.run.begin import plan_run
from burnin.run.bench import OpenBench, Options, open_bench_for
from burnin.run.desk.desk import Desk
from burnin.run.plan import RunOutcome, RunPlan
from burnin.run.prompters import NobodyThere, SaidBeforehand
from burnin.run.proven.bench_log import note_start
from burnin.run.record_lock import lock_record
from burnin.run.runner import carry_out
from burnin.stages.context import Prompter
from burnin.stages.meanings import StagesReason
from burnin.stages.standing_prompt import AsksWhileWorking, Settled, StandingPrompt

_SETTLE_S = 5.0
"""Longest that a prompt, or the end of a run, waits until all sinks have seen what was before."""


class _AfterSinks:
    """Asks when all sinks have seen what happened before, so that a prompt stands below it."""

    def __init__(self, asks: Prompter, stream: Stream) -> None:
        self._asks, self._stream = asks, stream

    def ask(self, prompt: Prompt, timeout_s: float) -> str | NotMeasured:
        self._stream.settle(_SETTLE_S)
        return self._asks.ask(prompt, timeout_s)

    def put(self, prompt: Prompt, timeout_s: float) -> StandingPrompt:
        """Put at once: a sink that is behind holds up no sample of a card at work."""
        if not isinstance(self._asks, AsksWhileWorking):
            return Settled(NotMeasured(StagesReason.PROMPT_CANNOT_STAND()))
        return self._asks.put(prompt, timeout_s)


def carry_out_with_sinks(
    plan: RunPlan,
    sinks: Sequence[Sink] = (),
    record: Sink | None = None,
    desk: Desk | None = None,
) -> RunOutcome:
    """Carry out a plan; every event goes to the record first, then to each sink.

    Sinks that are registered are attached too. `record` replaces the writer of the record; what it
    raises ends the run, after its clean-up. `desk` hears, while the run goes on, who answers its
    prompts or asks it to stop. Raises OSError where the record cannot be written.
    """
    private_folder(plan.folder)
    held = plan.held or lock_record(plan.folder)
    if plan.bench.lock is not None:
        plan.bench.lock.tell(plan.folder)
    try:
        stream = _stream(plan, record)
    except BaseException:
        plan.bench.close()
        held.release()
        raise
    try:
        for sink in (*registered_sinks(plan.folder), *sinks):
            stream.attach(sink)
        asked = replace(plan, prompter=_AfterSinks(plan.prompter, stream))
        if desk is None:
            return carry_out(asked, stream.publish)
        asked = replace(asked, stop_asked=desk.or_asked(plan.stop_asked))
        with desk.open(plan.folder, stream.publish, plan.earlier.prompts_count) as publish:
            return carry_out(asked, publish)
    finally:
        try:
            stream.close(_SETTLE_S)
        finally:
            plan.bench.close()
            held.release()


def _stream(plan: RunPlan, record: Sink | None) -> Stream:
    """The record open for the run's events; raises RecordError, OSError."""
    for name in (SIGNATURE, SUMS_FILE):
        # Those of an earlier, interrupted part speak of files that will grow.
        (plan.folder / name).unlink(missing_ok=True)
    _note_start(plan)
    if record is not None:
        return Stream(record)
    simulated = plan.opening.simulated
    return Stream(RecordWriter(plan.folder, plan.bench.clock, plan.start_s, simulated=simulated))


def _note_start(plan: RunPlan) -> None:
    """So that what known-good cards showed ages with the starts of the bench, too."""
    shown, boot = plan.opening.bench_shown, known(plan.bench.boot)
    if shown is None or boot is None or plan.opening.simulated or not shown.slot.known:
        return
    with suppress(RecordError, OSError):
        results = plan.folder.parent.parent
        note_start(results, shown.slot, boot.boot_id, plan.bench.clock.utc())


def prompter_for(opened: OpenBench) -> Prompter:
    """Who answers where nobody is asked: the simulated machine's technician, or nobody."""
    if opened.technician is not None:
        return opened.technician
    return NobodyThere() if opened.attached is None else SaidBeforehand(opened.attached)


def run_profile(
    profile: str | LoadedProfile,
    *,
    options: Options | None = None,
    results: Path = Path("results"),
    ticket: Ticket | None = None,
    sinks: Sequence[Sink] = (),
    prompter: Prompter | None = None,
    stop_asked: Callable[[], bool | Reason] = lambda: False,
) -> RunOutcome:
    """Carry out a profile from a program; the record lies in the outcome's folder.

    `profile`: name, file, or loaded. `options`: which bench and card; left out, the only card of
    this computer. `results`: the folder in which the record's own is made. `sinks` are told of
    every event. `prompter` answers prompts; left out, a simulated machine's monitors are known and
    nobody answers on a real one. `stop_asked` is called before each sample; True ends the run as
    Ctrl-C does. Raises BurninError: for what cannot be used, and where the operating system would
    not (`RefusedBySystem`).
    """
    loaded = load_profile(profile) if isinstance(profile, str) else profile
    options = options or Options()
    opened = open_bench_for(options)
    plan = plan_run(opened, loaded, ticket or Ticket(), options, results)
    plan = replace(plan, prompter=prompter or prompter_for(opened), stop_asked=stop_asked)
    try:
        outcome = carry_out_with_sinks(plan, sinks, desk=Desk())
        write_checksums(outcome.folder)
    except OSError as error:
        raise ours(error) from error
    return outcome
