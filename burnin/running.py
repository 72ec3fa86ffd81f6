"""One run from wish to exit code: prepare, subscribe, carry out, make the sheet."""

from __future__ import annotations

import json
import signal
import sys
import threading
from dataclasses import dataclass
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING

from burnin.errors import BadInput, BurninError, NoCard
from burnin.events import Event, Publish
from burnin.prepare import OpenBench, Options, facts_of, open_bench_for, run_folder
from burnin.profile_files import LoadedProfile, load_profile, parse_profile
from burnin.reading import NotMeasured
from burnin.record import RecordWriter, plain, write_checksums
from burnin.ticket import Ticket, folder_name
from burnin.verdict import EXIT_CODES

if TYPE_CHECKING:
    from burnin.card.card import Identity
    from burnin.repair.for_run import TicketForRun
    from burnin.run import Earlier
    from burnin.stages.context import Prompter


@dataclass(frozen=True)
class Wish:
    """What `burnin run` was asked for."""

    profile: str
    options: Options
    ticket: Ticket
    left_out: frozenset[str]
    monitors: str
    unattended: bool
    resume: Path | None
    results: Path
    show_all: bool
    as_json: bool


def run_profile(wish: Wish) -> int:
    """Carry out a profile and return the exit code; raises BurninError for bad input."""
    from burnin.run import RunPlan, carry_out

    begun = _begin(wish)
    opened, loaded, start_s = begun.opened, begun.loaded, begun.start_s
    unknown = wish.left_out - {stage.stage for stage in loaded.profile.stages}
    if unknown:
        there = ", ".join(dict.fromkeys(s.stage for s in loaded.profile.stages))
        raise BadInput(f"--without {', '.join(sorted(unknown))}: the profile has {there}")
    writer = RecordWriter(begun.folder, opened.clock, start_s)
    subscribers: list[Publish] = [writer]
    screen = None
    if wish.as_json:
        subscribers.append(_print_json)
    else:
        from rich.console import Console

        from burnin.console.screen import Screen

        screen = Screen(Console(highlight=False), show_all=wish.show_all)
        subscribers.append(screen)

    def publish(event: Event) -> None:
        for subscriber in subscribers:
            subscriber(event)

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
            boot=opened.boot,
            earlier=begun.earlier,
        )
        outcome = carry_out(plan, publish)
        writer.close()
        _note_alive(begun.folder, opened)
        _finish(begun.folder, wish.as_json)
    return EXIT_CODES[outcome.verdict]


@dataclass(frozen=True)
class _Begun:
    opened: OpenBench
    loaded: LoadedProfile
    run_id: str
    folder: Path
    facts: dict[str, object]
    start_s: float
    earlier: Earlier
    found: TicketForRun | None = None


def _begin(wish: Wish) -> _Begun:
    from burnin.run import Earlier

    if wish.resume is not None:
        return _begin_again(wish.resume)
    _check_ticket(wish.ticket)
    loaded = load_profile(wish.profile) if wish.profile else None
    found = _of_ticket(wish, loaded)
    loaded = loaded or (found.loaded if found else None)
    if loaded is None:
        from burnin.profile_files import profile_names

        raise BadInput(f"which profile? --profile with one of: {', '.join(profile_names())}")
    opened = _open(wish, loaded)
    if found is not None:
        # Now that the card is known: only what this very card has shown counts.
        found = _of_ticket(wish, loaded, opened.identity, card_known=True)
    ticket = _filled(wish.ticket, found.ticket) if found else wish.ticket
    run_id, folder = run_folder(wish.results, ticket, opened.clock.utc())
    facts = facts_of(opened, loaded, ticket, run_id, folder, wish.options)
    earlier = found.earlier if found else Earlier()
    start_s = opened.clock.monotonic_s()
    return _Begun(opened, loaded, run_id, folder, facts, start_s, earlier, found)


def _open(wish: Wish, loaded: LoadedProfile) -> OpenBench:
    """Open the bench; that nothing enumerated is a finding too, and goes on record."""
    try:
        return open_bench_for(wish.options)
    except NoCard as absent:
        if not wish.ticket.number and not wish.options.simulated:
            raise
        from burnin.absence import record_absence

        folder = record_absence(wish.results, wish.ticket, loaded, wish.options)
        raise NoCard(
            f"{absent}\nrecord   {folder}\n`burnin explain` on that folder says what to look at."
        ) from absent


def _of_ticket(
    wish: Wish,
    loaded: LoadedProfile | None,
    identity: Identity | None = None,
    *,
    card_known: bool = False,
) -> TicketForRun | None:
    """What the ticket says of this run; raises BadInput where no power may be put on the card.

    A profile that is named is carried out as a whole, whatever earlier runs have shown.
    """
    if not wish.ticket.number:
        return None
    from dataclasses import replace

    from burnin.repair.for_run import for_run
    from burnin.repair.moments import utc_now
    from burnin.run import Earlier

    simulated = bool(wish.options.simulated)
    card = plain(identity) if identity else None
    found = for_run(
        wish.results,
        wish.ticket.number,
        loaded,
        utc_now(),
        simulated=simulated,
        card=card if isinstance(card, dict) else None,
        any_card=not card_known,
    )
    if found is not None and found.refusal:
        raise BadInput(found.refusal)
    if found is not None and found.nothing_owed and not wish.profile:
        raise BadInput(
            f"ticket {wish.ticket.number} owes no stage; name --profile to carry one out again"
        )
    return replace(found, earlier=Earlier(), from_run={}) if found and wish.profile else found


def _filled(given: Ticket, kept: Ticket) -> Ticket:
    """What was typed now wins over what the ticket says."""
    return Ticket(
        given.number,
        given.customer or kept.customer,
        given.card_label or kept.card_label,
        given.technician or kept.technician,
        given.shop or kept.shop,
    )


def _begin_again(folder: Path) -> _Begun:
    """Go on with an interrupted record: its own profile, its own options, its own card."""
    import tomllib

    from burnin.resume import read_earlier, seconds_since_start

    facts, earlier = read_earlier(folder)
    profile, options = facts["profile"], facts["options"]
    assert isinstance(profile, dict)
    assert isinstance(options, dict)
    text = str(profile["text"])
    loaded = parse_profile(
        str(profile["name"]), str(profile["file"]), text, tomllib.loads(text)
    )
    opened = open_bench_for(Options(**options))
    card = facts.get("card")
    if opened.identity is not None and isinstance(card, dict):
        now, then = opened.identity, card
        if (now.vendor_id, now.device_id) != (then["vendor_id"], then["device_id"]):
            raise BadInput(
                f"{folder} was begun on {facts['card_text']}; another card is on this bench now"
            )
        serial, known_serial = plain(now.serial), then.get("serial")
        if isinstance(known_serial, str) and serial != known_serial:
            raise BadInput(f"{folder} was begun on the card with serial {known_serial}")
    clock = opened.clock
    start_s = clock.monotonic_s() - seconds_since_start(facts, clock.utc())
    return _Begun(opened, loaded, str(facts["run_id"]), folder, facts, start_s, earlier)


def _check_ticket(ticket: Ticket) -> None:
    if ticket.number:
        try:
            folder_name(ticket.number)
        except ValueError as error:
            raise BadInput(str(error)) from error


def _prompter(
    wish: Wish, opened: OpenBench, publish: Publish, screen: object, stop: threading.Event
) -> Prompter:
    from burnin.console.prompter import NobodyThere, SaidBeforehand, TerminalPrompter
    from burnin.console.screen import Screen

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
    from burnin.reading import known

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
    from burnin.repair.shop import load_shop
    from burnin.sheet.make import make_sheet

    told = ""
    try:
        paths = make_sheet(folder, load_shop().paper)
        told = f"sheet   {paths.pdf}\nplots   {paths.plots_html}"
    except (BurninError, ImportError, OSError, ValueError) as error:
        told = f"The record is whole; its sheet could not be made: {error}"
    write_checksums(folder)
    told += _sign(folder)
    if not as_json:
        sys.stdout.write(f"\n{told}\n")


def _note_alive(folder: Path, opened: OpenBench) -> None:
    """So that the next cold start can tell for how long the bench was off."""
    from burnin.repair.cold_start_stage import state_file
    from burnin.repair.cold_starts import alive

    path = state_file(folder)
    if path.exists() and not isinstance(opened.boot, NotMeasured):
        alive(path, opened.boot, opened.clock.utc())


def _sign(folder: Path) -> str:
    """The shop's signature over the checksums; what keeps it from being made costs nothing else."""
    from burnin.repair.signing import sign_record

    try:
        sign_record(folder)
    except (BurninError, OSError, ImportError) as error:
        return f"\nnot signed: {error}"
    return ""
