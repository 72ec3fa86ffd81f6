"""One run from wish to exit code: prepare, attach the terminal, carry out, make the sheet."""

from __future__ import annotations

import sys
from dataclasses import replace
from typing import TYPE_CHECKING

from burnin.cli.around_run.after_run import after_run
from burnin.cli.around_run.said_beforehand import said_beforehand
from burnin.cli.request import Wish, begin
from burnin.cli.stop_signals import StopAsked
from burnin.cli.terminal.output import quiet_output
from burnin.cli.terms import ScreenTerm
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
        _tell_made(plan, outcome, after_run(plan, outcome, words), words, quiet=wish.as_json)
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
    from burnin.run.session import prompter_for

    said = said_beforehand(wish, opened)
    if said is not None:
        return said
    if screen is not None and sys.stdin.isatty():
        def stopped() -> bool:
            return bool(stop.why()) or desk.disturbs()

        terminal = TerminalPrompter(words.say, screen.pause, stopped, screen.keep_below)
        return AtDesk(terminal, desk)
    return DeskAlone(desk, stop.why) if wish.ask else prompter_for(opened)


def _tell_made(
    plan: RunPlan, outcome: RunOutcome, lines: list[str], words: Catalogue, *, quiet: bool
) -> None:
    """Say what was made, and what comes next."""
    from burnin.cli.terminal.next_step import next_command

    if quiet:
        return
    results = plan.folder.parent.parent
    command = next_command(outcome, plan.opening.ticket.number, results)
    if command:
        lines = [*lines, "", words.say(ScreenTerm.NEXT(command=command))]
    try:
        sys.stdout.write("\n" + "\n".join(lines) + "\n")
        sys.stdout.flush()
    except OSError:
        quiet_output()
