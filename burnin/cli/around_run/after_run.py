"""What follows a run: its end on the ticket, its sheet, checksums, signature and history."""

from __future__ import annotations

from pathlib import Path

from burnin.cli.exit import told
from burnin.cli.terms import ScreenTerm
from burnin.core.errors import BurninError
from burnin.core.reading import NotMeasured
from burnin.report.languages.catalogue import Catalogue
from burnin.run.plan import RunOutcome, RunPlan


def after_run(plan: RunPlan, outcome: RunOutcome, words: Catalogue) -> list[str]:
    """Ticket, sheet, sums, signature, history; a line for each thing that was made, or was not.

    What cannot be made never costs the record.
    """
    from burnin.cli.history.taking_in import after_run as into_history
    from burnin.record.sums import write_checksums

    _note_end(plan, outcome)
    _note_alive(plan)
    lines = [*_sheet(plan.folder, words)]
    write_checksums(plan.folder)
    lines = [*lines, *_signature(plan.folder, words)]
    return [*lines, *into_history(plan.folder, words)]


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
