"""One run from wish to exit code: prepare, subscribe, carry out, make the sheet."""

from __future__ import annotations

import json
import os
import signal
import sys
import threading
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING

from burnin.cli.request import Wish, begin
from burnin.core.errors import BadInput, BurninError
from burnin.core.events import Event, Publish
from burnin.core.reading import NotMeasured
from burnin.core.verdict import EXIT_CODES
from burnin.record.checksums import write_checksums
from burnin.record.writer import RecordWriter, plain
from burnin.run.bench import OpenBench

if TYPE_CHECKING:
    from burnin.stages.context import Prompter


def run_profile(wish: Wish) -> int:
    """Carry out a profile and return the exit code; raises BurninError for bad input."""
    from burnin.run.runner import RunPlan, carry_out

    begun = begin(wish)
    opened, loaded, start_s = begun.opened, begun.loaded, begun.start_s
    unknown = wish.left_out - {stage.stage for stage in loaded.profile.stages}
    if unknown:
        there = ", ".join(dict.fromkeys(s.stage for s in loaded.profile.stages))
        raise BadInput(f"--without {', '.join(sorted(unknown))}: the profile has {there}")
    writer = RecordWriter(begun.folder, opened.clock, start_s)
    screens: list[Publish] = []
    screen = None
    if wish.as_json:
        screens.append(_print_json)
    else:
        from burnin.cli.terminal.patient_console import PatientConsole
        from burnin.cli.terminal.screen import Screen

        screen = Screen(PatientConsole(highlight=False), show_all=wish.show_all)
        screens.append(screen)

    def publish(event: Event) -> None:
        writer(event)
        for subscriber in list(screens):
            try:
                subscriber(event)
            except OSError:
                # Nobody reads any more (a closed pipe): the run and its record go on.
                screens.remove(subscriber)
                _quiet_output()

    stop = threading.Event()
    with _until_stopped(stop):
        plan = RunPlan(
            run_id=begun.run_id,
            profile=loaded.profile,
            facts=begun.facts,
            card=opened.card,
            no_card_reason=opened.no_card_reason,
            cards_found=opened.cards_found,
            engine=opened.engine,
            clock=opened.clock,
            start_s=start_s,
            prompter=_prompter(wish, opened, publish, screen, stop),
            folder=begun.folder,
            stop_asked=stop.is_set,
            other_cards=opened.other_cards,
            left_out=wish.left_out,
            left_out_why=begun.found.left_out_why if begun.found else {},
            ticket_owed=begun.found.owed if begun.found else (),
            carried_over=frozenset(begun.found.from_run) if begun.found else frozenset(),
            notes=begun.found.notes if begun.found else (),
            resumed=begun.resumed,
            boot=opened.boot,
            earlier=begun.earlier,
        )
        outcome = carry_out(plan, publish)
        writer.close()
        _note_alive(begun.folder, opened)
        _finish(begun.folder, wish.as_json)
    return EXIT_CODES[outcome.verdict]


def _prompter(
    wish: Wish, opened: OpenBench, publish: Publish, screen: object, stop: threading.Event
) -> Prompter:
    from burnin.cli.terminal.prompter import NobodyThere, SaidBeforehand, TerminalPrompter
    from burnin.cli.terminal.screen import Screen

    if wish.monitors:
        names = _outputs(wish.monitors, opened)
        return SaidBeforehand(names, publish)
    if wish.unattended:
        return NobodyThere()
    if opened.attached is not None:
        return SaidBeforehand(opened.attached, publish)
    if isinstance(screen, Screen) and sys.stdin.isatty():
        return TerminalPrompter(publish, screen.pause, stop.is_set)
    return NobodyThere()


def _outputs(text: str, opened: OpenBench) -> frozenset[str]:
    from burnin.core.reading import known

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


class _until_stopped:  # noqa: N801 - used as a statement
    """While inside, Ctrl-C and SIGTERM ask the run to stop; a second one changes nothing."""

    def __init__(self, stop: threading.Event) -> None:
        self._stop = stop

    def __enter__(self) -> None:
        def ask(_: int, __: FrameType | None) -> None:
            self._stop.set()

        self._before = {s: signal.signal(s, ask) for s in (signal.SIGINT, signal.SIGTERM)}

    def __exit__(self, *_: object) -> None:
        for number, handler in self._before.items():
            signal.signal(number, handler)


def _print_json(event: Event) -> None:
    detail = plain(event)
    assert isinstance(detail, dict)
    sys.stdout.write(
        json.dumps({"event": type(event).__name__, **detail}, ensure_ascii=False) + "\n"
    )
    sys.stdout.flush()


def _finish(folder: Path, as_json: bool) -> None:
    """Sheet and checksums; a sheet that cannot be made never costs the record."""
    from burnin.report.make import make_sheet
    from burnin.ticket.shop import load_shop

    told = ""
    # Those of an earlier, interrupted part speak of files that have grown since.
    (folder / "checksums.sha256").unlink(missing_ok=True)
    try:
        paths = make_sheet(folder, load_shop().paper)
        told = f"sheet   {paths.pdf}\nplots   {paths.plots_html}"
    except (BurninError, ImportError, OSError, ValueError) as error:
        told = f"The record is whole; its sheet could not be made: {error}"
    write_checksums(folder)
    told += _sign(folder)
    if not as_json:
        try:
            sys.stdout.write(f"\n{told}\n")
            sys.stdout.flush()
        except OSError:
            _quiet_output()


def _quiet_output() -> None:
    """Standard output leads nowhere: let nothing that is still written end the run."""
    sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: PTH123, SIM115 - for good


def _note_alive(folder: Path, opened: OpenBench) -> None:
    """So that the next cold start can tell for how long the bench was off."""
    from burnin.stages.cold_starts.stage import state_file
    from burnin.stages.cold_starts.start_log import alive

    path = state_file(folder)
    if path.exists() and not isinstance(opened.boot, NotMeasured):
        alive(path, opened.boot, opened.clock.utc())


def _sign(folder: Path) -> str:
    """The shop's signature over the checksums; what keeps it from being made costs nothing else."""
    from burnin.ticket.handover.signing import sign_record

    try:
        sign_record(folder)
    except (BurninError, OSError, ImportError) as error:
        return f"\nnot signed: {error}"
    return ""
