"""What the commands that only list, or make anew, print: cards, profiles, scenarios, sheets."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from burnin.card.capabilities import Bench, Card, LinkEnd
from burnin.card.screens import screen_name, screens_on
from burnin.cli.terminal.head import card_line
from burnin.cli.terms import ListTerm
from burnin.core.meaning import Term
from burnin.core.plain import plain
from burnin.core.reading import NotMeasured
from burnin.report.languages.catalogue import Catalogue, catalogue

if TYPE_CHECKING:
    from burnin.sim.scenario.model import Scenario
    from burnin.sim.scenario.several import BenchOfSeveral

Echo = Callable[[str], None]


def list_cards(
    as_json: bool,
    echo: Echo,
    bench: Bench | None = None,
    *,
    simulated: str = "",
    language: str = "en",
) -> int:
    """Every card with its identity and link; exit code 2 where there is none.

    `simulated` names a scenario of the simulated machine; empty: this bench, or `bench`.
    """
    from burnin.run.card_lock import holder_of

    words = catalogue(language)
    found = (bench or _bench(simulated)).cards()
    if as_json:
        rows = [
            {"identity": plain(i := c.identity()), "link": plain(c.link()), "slot": _slot(c),
             "screens": list(screens_on(c.outputs())),
             "held": plain(None if simulated else holder_of(i.address))}
            for c in found
        ]  # fmt: skip
        echo(json.dumps(rows, indent=1, ensure_ascii=False))
    elif not found:
        echo(words.say(ListTerm.NO_CARD()))
    else:
        for card in found:
            identity = card.identity()
            echo(card_line(identity, words))
            holder = None if simulated else holder_of(identity.address)
            if holder is not None:
                echo(f"    {words.say(holder.reason(identity.address))}")
            for line in _card_lines(card, words):
                echo(f"    {line}")
    return 0 if found else 2


def _bench(simulated: str) -> Bench:
    from burnin.card.files import HostFiles
    from burnin.card.merge import open_bench

    if not simulated:
        return open_bench(HostFiles(), this_machine=True)
    from burnin.sim.bench import open_simulated

    source = open_simulated(simulated, 1, None)
    return open_bench(source.files, this_machine=False, simulated=True)


def _card_lines(card: Card, words: Catalogue) -> list[str]:
    link, outputs = card.link(), card.outputs()
    lines = [_seat(card, words), words.say(ListTerm.LINK_NOW(end=_end(link.card)))]
    if isinstance(link.port, LinkEnd):
        lines.append(words.say(ListTerm.SLOT(end=_end(link.port))))
    else:
        lines.append(words.say(ListTerm.SLOT_UNKNOWN(why=link.port.reason)))
    if isinstance(outputs, NotMeasured):
        lines.append(words.say(ListTerm.OUTPUTS_UNKNOWN(why=outputs.reason)))
    elif outputs:
        each = tuple(
            ListTerm.OUTPUT_UNKNOWN(output=o.name, why=o.status.reason)
            if isinstance(o.status, NotMeasured)
            else ListTerm.SCREEN(output=o.name, screen=name)
            if o.status == "connected" and (name := screen_name(o))
            else ListTerm.OUTPUT(output=o.name, status=o.status)
            for o in outputs
        )
        lines.append(words.say(ListTerm.OUTPUTS(outputs=each)))
    else:
        lines.append(words.say(ListTerm.NO_OUTPUTS()))
    return lines


def _slot(card: Card) -> object:
    position = card.position()
    return plain(position if isinstance(position, NotMeasured) else position.slot_name)


def _seat(card: Card, words: Catalogue) -> str:
    """In which slot a card is to be looked for."""
    position = card.position()
    slot = position if isinstance(position, NotMeasured) else position.slot_name
    if isinstance(slot, NotMeasured):
        return words.say(ListTerm.SITS_UNKNOWN(why=slot.reason))
    return words.say(ListTerm.SITS_IN(slot=slot))


def _end(end: LinkEnd) -> Term:
    def told(value: float | NotMeasured) -> str:
        return "?" if isinstance(value, NotMeasured) else f"{value:g}"

    return ListTerm.LINK_END(
        lanes=told(end.width_lanes),
        speed_gts=told(end.speed_gts),
        most_lanes=told(end.max_width_lanes),
        most_speed_gts=told(end.max_speed_gts),
    )


def list_profiles(as_json: bool, echo: Echo) -> None:
    """Name, title and stages of every profile."""
    from burnin.profile.loader import load_profile, profile_names

    loaded = [load_profile(name) for name in profile_names()]
    if as_json:
        rows = [
            {
                "name": p.name,
                "title": p.profile.title,
                "stages": [s.stage for s in p.profile.stages],
                "sha256": p.sha256,
            }
            for p in loaded
        ]
        echo(json.dumps(rows, indent=1, ensure_ascii=False))
        return
    for p in loaded:
        echo(f"{p.name:<22} {p.profile.title}")
        echo(f"{'':<22} {', '.join(s.stage for s in p.profile.stages)}")


def list_scenarios(as_json: bool, echo: Echo) -> None:
    """Name, title and description of every scenario of the simulated machine."""
    from burnin.sim.scenario.model import (
        cause_scenario_names,
        load_scenario,
        scenario_names,
    )
    from burnin.sim.scenario.several import bench_named, bench_names

    names = (*scenario_names(), *cause_scenario_names())
    several = [(name, bench) for name in bench_names() if (bench := bench_named(name))]
    scenarios = [(name, load_scenario(name)) for name in dict.fromkeys(names)]
    found: list[tuple[str, Scenario | BenchOfSeveral]] = [*scenarios, *several]
    if as_json:
        rows = [{"name": n, "title": s.title, "description": s.description} for n, s in found]
        echo(json.dumps(rows, indent=1, ensure_ascii=False))
        return
    for name, scenario in found:
        echo(f"{name:<24} {scenario.title}")


def list_causes(as_json: bool, echo: Echo) -> None:
    """Every kind of cause that a scenario may name, with what follows from it and its fields."""
    from burnin.sim.causes.explanation import cause_kinds, causes_text

    if as_json:
        echo(json.dumps([plain(kind) for kind in cause_kinds()], indent=1, ensure_ascii=False))
    else:
        echo(causes_text())


def make_sheet_again(record: Path, language: str, as_json: bool, echo: Echo) -> None:
    """Sheet, plots and checksums of a record, from the record alone; signed anew if it was."""
    from burnin.cli.ticket_terms import TicketLine
    from burnin.report.languages.catalogue import catalogue
    from burnin.ticket.handover.sheet_anew import sheet_anew
    from burnin.ticket.shop.shop_file import load_shop

    paths, faults = sheet_anew(record, load_shop().paper, language)
    if as_json:
        echo(json.dumps({name: str(path) for name, path in paths.items()}, indent=1))
        return
    for path in paths.values():
        echo(str(path))
    words = catalogue(language)
    for fault in faults:
        echo(words.say(TicketLine.NOT_SIGNED_ANEW(fault=fault)))
