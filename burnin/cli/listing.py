"""Commands that only list or make anew: cards, profiles, scenarios, sheets."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

from burnin.card.card import Bench, Card, LinkEnd
from burnin.record.writer import plain

Echo = Callable[[str], None]


def list_cards(as_json: bool, echo: Echo, bench: Bench | None = None) -> int:
    """Every card with its identity and link; exit code 2 where there is none."""
    from burnin.card.combined import open_bench
    from burnin.card.files import HostFiles
    from burnin.run.bench import card_text

    found = (bench or open_bench(HostFiles(), with_nvml=True)).cards()
    if as_json:
        rows = [{"identity": plain(c.identity()), "link": plain(c.link())} for c in found]
        echo(json.dumps(rows, indent=1, ensure_ascii=False))
    elif not found:
        echo("No graphics card on this bench: no PCI device of class display or accelerator.")
    else:
        for card in found:
            echo(card_text(card.identity()))
            for line in _card_lines(card):
                echo(f"    {line}")
    return 0 if found else 2


def _card_lines(card: Card) -> list[str]:
    link, outputs = card.link(), card.outputs()
    lines = [f"link now {_end(link.card)}"]
    if isinstance(link.port, LinkEnd):
        lines.append(f"slot     {_end(link.port)}")
    else:
        lines.append(f"slot     not measured: {link.port.reason}")
    if isinstance(outputs, tuple):
        told = ", ".join(f"{o.name} {plain(o.status)}" for o in outputs) or "none fitted"
        lines.append(f"outputs  {told}")
    else:
        lines.append(f"outputs  not measured: {outputs.reason}")
    return lines


def _end(end: LinkEnd) -> str:
    def told(value: object) -> str:
        return f"{value:g}" if isinstance(value, (int, float)) else "?"

    return (
        f"x{told(end.width_lanes)} at {told(end.speed_gts)} GT/s, at most "
        f"x{told(end.max_width_lanes)} at {told(end.max_speed_gts)} GT/s"
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

    names = (*scenario_names(), *cause_scenario_names())
    found = [(name, load_scenario(name)) for name in dict.fromkeys(names)]
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


def make_sheet_again(record: Path, as_json: bool, echo: Echo) -> None:
    """Sheet, plots and checksums of a record, from the record alone."""
    from burnin.record.checksums import write_checksums
    from burnin.report.make import make_sheet
    from burnin.ticket.shop import load_shop

    paths = make_sheet(record, load_shop().paper)
    write_checksums(record, keep_data=True)
    if as_json:
        echo(json.dumps({k: str(v) for k, v in vars(paths).items()}, indent=1))
    else:
        for path in vars(paths).values():
            echo(str(path))
