"""What a bench is asked at its first start: keyboard, language, time zone, shop."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from burnin.cli.stick.terms import DeskTerm
from burnin.core.meaning import Term
from burnin.report.languages.catalogue import catalogue
from burnin.stick.settings import LANGUAGES, Settings, allowed, keyboards

Ask = Callable[[str], str]
Echo = Callable[[str], None]
ZONES = ("Europe/Berlin", "Europe/London", "Europe/Vienna", "Europe/Zurich", "UTC")
"""Those with a number; any other is typed by its name in the tz database."""
_OWN_NAMES = {"en": "English", "de": "Deutsch"}


def asked(
    settings: Settings, ask: Ask, echo: Echo, on_keyboard: Callable[[str], object]
) -> Settings:
    """Ask for what is not set yet; an empty answer takes the first of the list."""
    if not settings.keyboard:
        echo(_both(DeskTerm.KEYBOARD()))
        chosen = one_of(keyboards(), "keyboard", ask, echo, settings.language)
        settings = replace(settings, keyboard=chosen)
    on_keyboard(settings.keyboard)
    if not settings.language:
        echo(_both(DeskTerm.LANGUAGE()))
        shown = [_OWN_NAMES[code] for code in LANGUAGES]
        chosen = one_of(LANGUAGES, "language", ask, echo, "", shown)
        settings = replace(settings, language=chosen)
    words = catalogue(settings.language)
    if not settings.time_zone:
        echo(words.say(DeskTerm.TIME_ZONE()))
        chosen = one_of(ZONES, "time_zone", ask, echo, settings.language)
        settings = replace(settings, time_zone=chosen)
    if settings.shop is None:
        echo(words.say(DeskTerm.KEY_WARNING()))
        echo(words.say(DeskTerm.ASK_SHOP()))
        shop = ask("> ").strip()
        while not allowed("shop", shop):
            echo(words.say(DeskTerm.NOT_ONE()))
            shop = ask("> ").strip()
        settings = replace(settings, shop=shop)
    return settings


def _both(term: Term) -> str:
    """In both languages, while none has been chosen."""
    return " / ".join(dict.fromkeys(catalogue(code).say(term) for code in LANGUAGES))


def one_of(
    names: Sequence[str],
    key: str,
    ask: Ask,
    echo: Echo,
    language: str,
    shown: Sequence[str] = (),
) -> str:
    """A number of the list, or a name that is allowed though it has none."""
    titles = shown or names
    cells = [f"{number:>3}  {title}" for number, title in enumerate(titles, 1)]
    for at in range(0, len(cells), 5):
        echo("".join(f"{cell:<24}" for cell in cells[at : at + 5]).rstrip())
    say = catalogue(language).say if language else _both
    echo(say(DeskTerm.NUMBER_OR_NAME(first=titles[0])))
    while True:
        typed = ask("> ").strip()
        if not typed:
            return names[0]
        if typed.isdecimal() and 1 <= int(typed) <= len(names):
            return names[int(typed) - 1]
        if allowed(key, typed):
            return typed
        echo(say(DeskTerm.NOT_ONE()))
