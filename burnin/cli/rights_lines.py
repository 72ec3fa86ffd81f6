"""`burnin cards --why`: which rights the tool takes here, which it has, what is lost without."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Callable, Iterator
from pathlib import Path

from burnin.cli.terminal.head import card_line
from burnin.core.plain import plain
from burnin.report.languages.catalogue import Catalogue, catalogue
from burnin.run.rights import things
from burnin.run.rights.meanings import RightLine
from burnin.run.rights.survey import Survey, survey
from burnin.run.rights.trial import State, Trial

Echo = Callable[[str], None]
_STATES = {
    State.YES: RightLine.YES,
    State.PART: RightLine.PART,
    State.NO: RightLine.NO,
    State.NOT_HERE: RightLine.NOT_HERE,
    State.NOT_TRIED: RightLine.NOT_TRIED,
}
_LEFT = 12


def list_rights(
    as_json: bool, echo: Echo, *, simulated: str, results: Path, language: str, width: int = 100
) -> int:
    """Every thing with its right; exit code 2 where there is no card."""
    from burnin.ticket.shop.shop_file import shop_folder

    words = catalogue(language)
    places = (things.records(str(results)), things.shop(str(shop_folder())))
    found = survey(simulated, places)
    if as_json:
        echo(json.dumps(_as_json(found, simulated), indent=1, ensure_ascii=False))
    else:
        for line in rights_lines(found, simulated, words, width):
            echo(line)
    return 0 if found.cards else 2


def _as_json(found: Survey, simulated: str) -> dict[str, object]:
    return {
        "account": plain(found.account),
        "simulated": simulated,
        "things": [
            {
                "card": trial.address,
                "thing": plain(trial.thing.name),
                "places": list(trial.thing.places),
                "needs": plain(trial.thing.needs),
                "state": trial.state.value,
                "seen": plain(trial.seen),
                "without": plain(trial.thing.without),
            }
            for trial in found.trials
        ],
    }


def rights_lines(
    found: Survey, simulated: str, words: Catalogue, width: int = 100
) -> Iterator[str]:
    """The table: the bench's things, then those of each card."""
    account = found.account
    held = account.capabilities or (RightLine.HOLDS_NONE(),)
    yield words.say(RightLine.ACCOUNT(user=account.user, uid_number=account.uid, held=held))
    if simulated:
        yield words.say(RightLine.SIMULATED(scenario=simulated))
    yield ""
    yield words.say(RightLine.BENCH())
    for trial in found.trials:
        if not trial.address:
            yield from _told(trial, words, width)
    for card in found.cards:
        yield ""
        yield card_line(card, words)
        for trial in found.trials:
            if trial.address == card.address:
                yield from _told(trial, words, width)


def _told(trial: Trial, words: Catalogue, width: int) -> Iterator[str]:
    thing = trial.thing
    here = words.say(_STATES[trial.state]())
    yield from _beside(here, words.say(thing.name), width)
    if thing.places:
        yield from _beside("", words.say(RightLine.WHERE(places=thing.places)), width)
    yield from _beside("", words.say(RightLine.NEEDS(needs=thing.needs)), width)
    yield from _beside("", words.say(RightLine.HERE(seen=trial.seen)), width)
    yield from _beside("", words.say(RightLine.WITHOUT(what=thing.without)), width)


def _beside(head: str, text: str, width: int) -> Iterator[str]:
    """A text in its column, wrapped; `head` stands before its first line."""
    lines = textwrap.wrap(text, max(30, width - _LEFT), break_on_hyphens=False) or [""]
    for number, line in enumerate(lines):
        yield f"{head if not number else '':<{_LEFT}}{line}".rstrip()
