"""One run from wish to exit code: prepare, attach the terminal, carry out, make the sheet."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from burnin.cli.exit import told
from burnin.cli.request import Wish, begin
from burnin.cli.stop_signals import StopAsked
from burnin.cli.terminal.output import quiet_output
from burnin.cli.terms import ScreenTerm
from burnin.core.errors import BadInput, BurninError
from burnin.core.reading import NotMeasured, known
from burnin.core.verdict import EXIT_CODES
from burnin.report.languages.catalogue import Catalogue, catalogue
from burnin.run.bench import OpenBench
from burnin.run.plan import RunOutcome, RunPlan

if TYPE_CHECKING:
    from burnin.cli.terminal.screen import Screen
    from burnin.record.sinks import Sink
    from burnin.run.desk.desk import Desk
    from burnin.stages.context import Prompter


def run_profile(wish: Wish) -> int:
    """Carry out a profile and return the exit code; raises BurninError for bad input."""
    from burnin.run.desk.desk import Desk
    from burnin.run.session import carry_out_with_sinks

    words = catalogue(wish.language)
    plan = begin(wish)
    stop, desk = StopAsked(), Desk()
    with stop:
        sink, screen = _terminal(wish, words)
        prompter = _prompter(wish, plan.bench, words, screen, stop, desk)
        plan = replace(plan, prompter=prompter, stop_asked=stop.why)
        outcome = carry_out_with_sinks(plan, (sink,), desk=desk)
        _note_end(plan, outcome)
        _note_alive(plan)
        _finish(plan, outcome, words, quiet=wish.as_json)
    return EXIT_CODES[outcome.verdict]


def _terminal(wish: Wish, words: Catalogue) -> tuple[Sink, Screen | None]:
    """What shows the run; and, where a person sits there, what makes room for a prompt."""
    if wish.as_json:
        from burnin.cli.terminal.json_lines import JsonLines

        return JsonLines(), None
    from burnin.cli.terminal.patient_console import PatientConsole
    from burnin.cli.terminal.screen import Screen

    screen = Screen(PatientConsole(highlight=False), words, show_all=wish.show_all)
    return screen, screen


def _prompter(
    wish: Wish,
    opened: OpenBench,
    words: Catalogue,
    screen: Screen | None,
    stop: StopAsked,
    desk: Desk,
) -> Prompter:
    from burnin.cli.terminal.prompter import TerminalPrompter
    from burnin.run.desk.at_desk import AtDesk, DeskAlone
    from burnin.run.prompters import NobodyThere, SaidBeforehand
    from burnin.run.session import prompter_for

    if wish.monitors:
        return SaidBeforehand(_outputs(wish.monitors, opened))
    if wish.unattended:
        return NobodyThere()
    if (opened.attached is None or wish.ask) and screen is not None and sys.stdin.isatty():
        def stopped() -> bool:
            return bool(stop.why()) or desk.disturbs()

        terminal = TerminalPrompter(words.say, screen.pause, stopped, screen.keep_below)
        return AtDesk(terminal, desk)
    return DeskAlone(desk, stop.why) if wish.ask else prompter_for(opened)


def _outputs(text: str, opened: OpenBench) -> frozenset[str]:
    there = frozenset(o.name for o in known(opened.card.outputs()) or ())
    if text.strip() == "all":
        return there
    named = frozenset(part.strip() for part in text.split(",") if part.strip())
    if named - there:
        raise BadInput(
            f"--monitors {', '.join(sorted(named - there))}: this card has "
            f"{', '.join(sorted(there)) or 'no outputs'}"
        )
    return named


def _finish(plan: RunPlan, outcome: RunOutcome, words: Catalogue, *, quiet: bool) -> None:
    """Sheet, checksums, signature and history; what cannot be made never costs the record."""
    from burnin.cli.history.taking_in import after_run
    from burnin.cli.terminal.next_step import next_command
    from burnin.record.sums import write_checksums

    folder = plan.folder
    lines = [*_sheet(folder, words)]
    write_checksums(folder)
    lines += _signature(folder, words)
    lines += after_run(folder, words)
    if quiet:
        return
    results = folder.parent.parent
    command = next_command(outcome, plan.opening.ticket.number, results)
    if command:
        lines += ["", words.say(ScreenTerm.NEXT(command=command))]
    try:
        sys.stdout.write("\n" + "\n".join(lines) + "\n")
        sys.stdout.flush()
    except OSError:
        quiet_output()


def _sheet(folder: Path, words: Catalogue) -> list[str]:
    from burnin.report.make import make_sheet
    from burnin.ticket.shop.shop_file import load_shop

    try:
        made = make_sheet(folder, load_shop().paper, words.language)
    except (BurninError, ImportError, OSError, ValueError) as error:
        return [words.say(ScreenTerm.NO_SHEET(words=told(error, words)))]
    return [f"{name:<7} {path}" for name, path in made.items()]


def _signature(folder: Path, words: Catalogue) -> list[str]:
    """The shop's signature over the checksums; what keeps it from being made costs nothing else."""
    from burnin.ticket.handover.signing import sign_record

    try:
        sign_record(folder)
    except (BurninError, OSError, ImportError) as error:
        return [words.say(ScreenTerm.NOT_SIGNED(words=told(error, words)))]
    return []


def _note_end(plan: RunPlan, outcome: RunOutcome) -> None:
    """Put on the ticket, where there is one, how the run ended and what its record is now."""
    from burnin.ticket.log.ticket_from_log import LOG
    from burnin.ticket.runs_on_ticket import ended

    if (plan.folder.parent / LOG).exists():
        ended(plan.folder.parent, plan.opening.run_id, plan.folder, outcome.verdict)


def _note_alive(plan: RunPlan) -> None:
    """So that the next cold start can tell for how long the bench was off."""
    from burnin.stages.cold_starts.start_log import alive

    boot, starts = plan.bench.boot, plan.starts
    if starts is not None and starts.log.exists() and not isinstance(boot, NotMeasured):
        alive(starts.log, boot, plan.bench.clock.utc())
