"""`burnin help TOPIC`: a page on one thing, in words for somebody at the bench."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from burnin.core.errors import BadInput
from burnin.core.meaning import ReasonCode, TermCode
from burnin.report.languages.catalogue import Catalogue

_WIDEST = 88
_NAMES: dict[str, tuple[str, ...]] = {
    "values": ("value", "werte", "wert"),
    "tickets": ("ticket", "aufträge", "auftraege", "auftrag"),
    "runs": ("run", "läufe", "laeufe", "lauf"),
    "verdicts": ("verdict", "urteile", "urteil"),
    "records": ("record", "protokolle", "protokoll"),
    "guards": ("guard", "wächter", "waechter"),
    "contacts": ("contact", "kontakte", "kontakt"),
    "errors": ("error", "fehler"),
}
"""Topics, and what else they are called in any language."""


class HelpTopic(TermCode):
    """The page of each topic."""

    VALUES = "help_values"
    TICKETS = "help_tickets"
    RUNS = "help_runs"
    VERDICTS = "help_verdicts"
    RECORDS = "help_records"
    GUARDS = "help_guards"
    CONTACTS = "help_contacts"
    ERRORS = "help_errors"


class HelpTitle(TermCode):
    """The title of each page."""

    VALUES = "help_title_values"
    TICKETS = "help_title_tickets"
    RUNS = "help_title_runs"
    VERDICTS = "help_title_verdicts"
    RECORDS = "help_title_records"
    GUARDS = "help_title_guards"
    CONTACTS = "help_title_contacts"
    ERRORS = "help_title_errors"


class HelpLine(TermCode):
    """What stands around the topics."""

    TOPICS = "help_line_topics"


class HelpRefusal(ReasonCode):
    """What was typed; `there` are the topics."""

    NO_TOPIC = "refused_help_no_topic", "text", "there"


def help_lines(topic: str, words: Catalogue, width: int) -> Iterator[str]:
    """The page of a topic, or the topics where none is named; raises BadInput for any other.

    A line that begins with two blanks is a command, and is never wrapped.
    """
    most = max(24, min(_WIDEST, width - 1))
    if not topic.strip():
        yield from textwrap.wrap(words.say(HelpLine.TOPICS()), most)
        for name in _NAMES:
            yield f"  {name:<10} {words.say(HelpTitle[name.upper()]())}"
        return
    name = _named(topic).upper()
    yield words.say(HelpTitle[name]())
    yield ""
    for line in words.say(HelpTopic[name]()).strip("\n").split("\n"):
        if not line or line[:2] == "  ":
            yield line
        else:
            yield from textwrap.wrap(line, most, break_on_hyphens=False, break_long_words=False)


def _named(topic: str) -> str:
    typed = topic.strip().lower()
    for name, others in _NAMES.items():
        if typed in (name, *others):
            return name
    raise BadInput(HelpRefusal.NO_TOPIC(text=topic, there=tuple(_NAMES)))
