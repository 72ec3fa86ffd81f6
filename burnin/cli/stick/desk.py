"""What the stick shows by itself: questions once, then the choice, the run, the choice again."""

from __future__ import annotations

import signal
import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from burnin.card.capabilities import Card
from burnin.cli.exit import told
from burnin.cli.stick.child_run import carried_out, now_in, since_start_s
from burnin.cli.stick.first_start import asked
from burnin.cli.stick.terms import DeskTerm
from burnin.core.errors import BurninError
from burnin.report.languages.catalogue import Catalogue, catalogue
from burnin.stick.copies import copy_new
from burnin.stick.places import Places, set_keyboard
from burnin.stick.settings import FILE, Settings, read_settings, write_settings
from burnin.stick.tools import carry_out

_CLEAR = "\x1b[2J\x1b[H"
_SIMULATED, _SOFTWARE = "healthy", "--software-vulkan"
_PROFILE = "desktop_air"
TICKETS, RECORDS = "tickets", "records"


class SwitchedOff(Exception):
    """The power key, or the choice of it: everything is closed and the computer goes off."""


@dataclass(frozen=True)
class Choice:
    """What can be run: the words for `burnin run`, and whether it is about a card."""

    title: str
    words: tuple[str, ...]
    of_card: bool = False


def at_desk(of: Places, echo: Callable[[str], None], ask: Callable[[str], str]) -> None:
    """Until the power goes off."""

    def off(*_: object) -> None:
        raise SwitchedOff

    signal.signal(signal.SIGTERM, off)
    try:
        settings = settled(of, echo, ask)
        words = catalogue(settings.language)
        taken_in = _tickets_in(of, words, echo)
        while True:
            _one_choice(of, settings, words, echo, ask, taken_in)
            taken_in = 0
    except (SwitchedOff, EOFError, KeyboardInterrupt):
        return


def settled(of: Places, echo: Callable[[str], None], ask: Callable[[str], str]) -> Settings:
    """The bench's settings: of the records partition, of the journal, or asked for now."""
    settings = Settings()
    for file in (of.journal / FILE, of.now / FILE):
        try:
            given = read_settings(file)
        except BurninError as error:
            echo(told(error, catalogue(settings.language or "en")))
            continue
        changes = {k: v for k, v in vars(given).items() if v}
        settings = replace(settings, **changes)
        settings = replace(settings, shop=given.shop if given.shop is not None else settings.shop)
    if not settings.complete:
        echo(_CLEAR)
    settings = asked(settings, ask, echo, lambda layout: set_keyboard(of, layout))
    write_settings(of.journal / FILE, settings)
    of.shop.mkdir(parents=True, exist_ok=True)
    now_in(settings.language, settings.time_zone, of.shop)
    return settings


def _one_choice(
    of: Places,
    settings: Settings,
    words: Catalogue,
    echo: Callable[[str], None],
    ask: Callable[[str], str],
    tickets_in: int,
) -> None:
    say = words.say
    echo(_CLEAR + f"\x1b[1m{say(DeskTerm.TITLE())}\x1b[0m")
    if settings.shop:
        echo(say(DeskTerm.SHOP(shop=settings.shop)))
    source = (of.now / "from").read_text("ascii").strip() if (of.now / "from").exists() else ""
    echo(say(DeskTerm.FROM_MEMORY() if source == "memory" else DeskTerm.FROM_STICK()))
    echo(say(DeskTerm.UP_AFTER(seconds=since_start_s())))
    if tickets_in:
        echo(say(DeskTerm.TICKETS_IN(files_count=tickets_in)))
    for file, term in (("added", DeskTerm.TAKEN_IN), ("refused", DeskTerm.REFUSED)):
        if (of.now / file).exists():
            echo(say(term(files=tuple((of.now / file).read_text("utf-8").split()))))
    echo(f"\n{say(DeskTerm.CAUTION())}\n")
    choices = list(found_choices(words))
    if not any(one.of_card for one in choices):
        echo(f"{say(DeskTerm.NO_CARD())}\n")
    for number, one in enumerate(choices, 1):
        echo(f"{number:>3}  {one.title}")
    echo(f"  s  {say(DeskTerm.SETTINGS())}\n  0  {say(DeskTerm.POWER_OFF())}")
    echo(f"\n{say(DeskTerm.POWER_KEY())}\n{say(DeskTerm.CHOOSE())}")
    sys.stdout.flush()
    typed = ask("> ").strip().casefold()
    if typed == "0":
        carry_out(["systemctl", "poweroff"])
        raise SwitchedOff
    if typed == "s":
        (of.journal / FILE).unlink(missing_ok=True)
        (of.now / FILE).unlink(missing_ok=True)
        raise SwitchedOff  # its service begins again, and asks
    if not typed.isdecimal() or not 1 <= int(typed) <= len(choices):
        return
    _run(of, settings, choices[int(typed) - 1], words, echo, ask)


def found_choices(words: Catalogue) -> list[Choice]:
    """Each card of this computer, then what can be run without one."""
    from burnin.card.files import HostFiles
    from burnin.card.merge import open_bench
    from burnin.cli.terminal.head import card_line

    def one(card: Card) -> Choice:
        identity = card.identity()
        return Choice(card_line(identity, words), ("--card", identity.address), of_card=True)

    cards = [one(card) for card in open_bench(HostFiles(), this_machine=True).cards()]
    return [
        *cards,
        Choice(words.say(DeskTerm.SIMULATED()), ("--simulated", _SIMULATED)),
        Choice(words.say(DeskTerm.SOFTWARE()), (_SOFTWARE,)),
    ]


def _run(
    of: Places,
    settings: Settings,
    choice: Choice,
    words: Catalogue,
    echo: Callable[[str], None],
    ask: Callable[[str], str],
) -> None:
    say = words.say
    extra: tuple[str, ...] = ("--profile", _PROFILE)
    if choice.of_card:
        extra = (*_profile(words, echo, ask), *_ticket(of, words, echo, ask))
    if settings.shop:
        extra = (*extra, "--shop", settings.shop)
    echo(f"{_CLEAR}{choice.title}\n{say(DeskTerm.BEGIN())}")
    sys.stdout.flush()
    ended = carried_out(
        ["run", *choice.words, *extra, "--results", str(of.results), "--language",
         settings.language]
    )  # fmt: skip
    echo(say(DeskTerm.DONE(code=ended.code, seconds=ended.seconds)))
    copied(of, words, echo)
    if ended.power_off:
        raise SwitchedOff
    echo(say(DeskTerm.ENTER()))
    sys.stdout.flush()
    ask("")


def _profile(
    words: Catalogue, echo: Callable[[str], None], ask: Callable[[str], str]
) -> tuple[str, ...]:
    from burnin.profile.loader import profile_names

    names = sorted(profile_names(), key=lambda name: (name != _PROFILE, name))
    echo(words.say(DeskTerm.WHICH_PROFILE()))
    for number, name in enumerate(names, 1):
        echo(f"{number:>3}  {name}")
    typed = ask("> ").strip()
    at = int(typed) if typed.isdecimal() else 1
    return "--profile", names[at - 1] if 1 <= at <= len(names) else _PROFILE


def _ticket(
    of: Places, words: Catalogue, echo: Callable[[str], None], ask: Callable[[str], str]
) -> tuple[str, ...]:
    from burnin.ticket.ticket_list import open_tickets

    lines, _ = open_tickets(of.results)
    if not lines:
        return ()
    echo(words.say(DeskTerm.WHICH_TICKET()))
    for number, line in enumerate(lines, 1):
        echo(f"{number:>3}  {line.ticket.number}")
    echo(f"  0  {words.say(DeskTerm.NO_TICKET())}")
    typed = ask("> ").strip()
    at = int(typed) if typed.isdecimal() else 0
    return ("--ticket", lines[at - 1].ticket.number) if 1 <= at <= len(lines) else ()


def copied(of: Places, words: Catalogue, echo: Callable[[str], None]) -> None:
    """What the journal has and the records partition has not is copied there."""
    try:
        with of.records_open() as records:
            count = copy_new(of.results, records / RECORDS)
        echo(words.say(DeskTerm.COPIED(files_count=count)))
    except (BurninError, OSError) as error:
        echo(words.say(DeskTerm.NOT_COPIED(words=told(error, words))))


def _tickets_in(of: Places, words: Catalogue, echo: Callable[[str], None]) -> int:
    """Tickets that somebody put on the records partition come in; a cut run's record goes out."""
    try:
        with of.records_open() as records:
            tickets: Path = records / TICKETS
            count = copy_new(tickets, of.results) if tickets.is_dir() else 0
            copy_new(of.results, records / RECORDS)
            return count
    except (BurninError, OSError) as error:
        echo(words.say(DeskTerm.NOT_COPIED(words=told(error, words))))
        return 0
