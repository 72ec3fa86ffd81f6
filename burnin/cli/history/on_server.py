"""What is done on the shop's server beside sync and questions: laying it out, verifying it."""

from __future__ import annotations

import json
from pathlib import Path

import typer

from burnin.core.errors import BadInput
from burnin.history import needs
from burnin.history.meanings import HistoryNote, HistoryReason
from burnin.report.languages.catalogue import catalogue

NOT_IN_ORDER = 4
"""Exit code where a row is not as it was brought, or nobody can tell."""
_MOST_NAMED = 50


def lay_out_server(given: str, language: str) -> None:
    """Make tables, roles and rights; raises BadInput."""
    needs.require_driver()
    from burnin.history.server.address import address_of
    from burnin.history.server.laying_out import lay_out
    from burnin.history.server.layout import BENCH, OFFICE

    words, address = catalogue(language), address_of(given)
    fresh = HistoryNote.LAID_OUT(server=address.shown, bench_role=BENCH, office_role=OFFICE)
    before = HistoryNote.LAID_OUT_BEFORE(server=address.shown)
    typer.echo(words.say(fresh if lay_out(address) else before))


def verify_server(given: str, results: Path, language: str, *, as_json: bool) -> None:
    """Compare the server with seals and files; exit code 4 where something is not in order."""
    needs.require()
    from burnin.cli.history.target import names, shelf_of, target_of
    from burnin.history.looked_at import Looking
    from burnin.ticket.shop.shop_file import load_shop

    words, shop = catalogue(language), load_shop()
    target = target_of(given, results, shop)
    if target.server is None:
        raise BadInput(HistoryReason.NO_SERVER())
    from burnin.history.server.verify import verify

    named, _ = names(names_kept=shop.history_names)
    how = Looking(named, shop.history_names)
    found = verify(target.server, shelf_of(results), results, how)
    if as_json:
        faults = [
            {"place": one.place, "from": one.origin, "reason": one.reason.as_plain()}
            for one in found.faults
        ]
        content = {"lines": found.lines, "by_files": found.by_files, "faults": faults,
                   "not_verified": found.not_verified}  # fmt: skip
        typer.echo(json.dumps(content, ensure_ascii=False, indent=1))
    else:
        for one in found.faults[:_MOST_NAMED]:
            told = HistoryNote.FAULT_THERE(
                place=one.place, origin=one.origin, reason=one.reason
            )
            typer.echo(words.say(told))
        if found.not_verified:
            typer.echo(words.say(HistoryNote.NOT_VERIFIED(lines_count=found.not_verified)))
        typer.echo(
            words.say(
                HistoryNote.VERIFIED(
                    lines_count=found.lines, files_count=found.by_files,
                    faults_count=len(found.faults),
                )
            )
        )  # fmt: skip
    if found.faults or found.not_verified:
        raise typer.Exit(NOT_IN_ORDER)
