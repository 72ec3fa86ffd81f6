"""Commands around the ticket: list, measure, hand over, verify, compare, the shop."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from burnin.cli.exit import plain_errors
from burnin.cli.ticket_commands import RESULTS, By, Number, Results

Like = Annotated[str, typer.Option("--like", help="ticket of a known-good card of this kind")]


def tickets(
    find: Annotated[str, typer.Option(help="words that must occur; closed tickets too")] = "",
    as_json: Annotated[bool, typer.Option("--json", help="print JSON")] = False,
    results: Results = RESULTS,
) -> None:
    """Open tickets, most urgent first, with what each still owes."""
    import json

    from burnin.ticket.next_step import listing
    from burnin.ticket.urgency import as_row, find_tickets, open_tickets

    with plain_errors():
        lines, faults = find_tickets(results, find) if find else open_tickets(results)
        if as_json:
            typer.echo(json.dumps([as_row(line) for line in lines], indent=1, ensure_ascii=False))
        else:
            for line in listing(lines):
                typer.echo(line)
        for fault in faults:
            typer.echo(f"cannot be read: {fault}", err=True)
    raise typer.Exit(2 if faults else 0)


def measure(
    number: Number,
    point: Annotated[str, typer.Argument(help="such as supply_12v, B14, B14-trace, B14-B15")] = "",
    value: Annotated[str, typer.Argument(help="as the meter shows it: '38 Ω', 0.452V, OL")] = "",
    csv: Annotated[
        Path | None, typer.Option("--from", help="CSV file: point, value, unit, uncertainty")
    ] = None,
    meter: Annotated[str, typer.Option(help="accuracy such as 0.8%+0.2")] = "",
    like: Like = "",
    by: By = "",
    results: Results = RESULTS,
) -> None:
    """Take values of the unpowered card; without a point, everything owed is asked for.

    Exit code 1 where a value fails.
    """
    from burnin.core.reading import Verdict
    from burnin.ticket.measuring import measure as take_values
    from burnin.ticket.next_step import CAUTIONS, next_step, value_lines

    with plain_errors():
        for caution in CAUTIONS:
            typer.echo(f"! {caution}")
        ticket, readings = take_values(
            results, number, point, value, csv, meter, like, typer.echo, by=by
        )
        for line in value_lines(readings):
            typer.echo(line)
        typer.echo(next_step(ticket))
    if any(r.verdict is Verdict.FAIL for r in readings):
        raise typer.Exit(1)


def handover(
    number: Number,
    language: Annotated[
        list[str] | None, typer.Option(help="en or de; repeatable; left out: ticket or shop file")
    ] = None,
    paper: Annotated[str, typer.Option(help="a4 or letter; left out: as the shop file says")] = "",
    like: Like = "",
    by: By = "",
    results: Results = RESULTS,
) -> None:
    """Make and sign the customer's and the internal sheet; closes where nothing is owed."""
    from burnin.ticket.handover.handover import hand_over, spoken
    from burnin.ticket.next_step import next_step, owed_lines
    from burnin.ticket.store import read_ticket

    with plain_errors():
        ticket = read_ticket(results, number)
        good = read_ticket(results, like) if like else None
        languages, on = spoken(ticket, tuple(language or ()), paper)
        made = hand_over(ticket, languages=languages, paper=on, known_good=good, by=by)
        typer.echo(f"{made.verdict.replace('_', ' ').upper()}  fingerprint {made.fingerprint}")
        for file in made.files:
            typer.echo(f"  {file}")
        for line in owed_lines(made.ticket):
            typer.echo(line)
        if made.ticket.closed:
            typer.echo(next_step(made.ticket))


def verify(
    paths: Annotated[list[Path] | None, typer.Argument(help="records, handovers or sheets")] = None,
    fingerprint: Annotated[str, typer.Option(help="as printed on a sheet")] = "",
    key: Annotated[
        Path | None, typer.Option(help="the shop's public key (PEM), on another bench")
    ] = None,
    results: Results = RESULTS,
) -> None:
    """Whether a record or sheet is as it left; exit code 1 where something was changed."""
    from burnin.core.errors import BadInput
    from burnin.ticket.handover.checking import check, find_fingerprint

    changed = False
    with plain_errors():
        if not paths and not fingerprint:
            raise BadInput("verify what? A folder or sheet, or --fingerprint as on the sheet")
        found = list(paths or ())
        if fingerprint:
            found.append(find_fingerprint(results, fingerprint))
        for path in found:
            verdict = check(path, key)
            word = "as it left" if verdict.good else "CHANGED"
            typer.echo(f"{path}: {word}")
            for line in (*verdict.faults, *verdict.told):
                typer.echo(f"  {line}")
            changed = changed or not verdict.good
    if changed:
        raise typer.Exit(1)


def compare(
    record: Annotated[Path, typer.Argument(help="folder of a record")],
    other: Annotated[
        Path | None, typer.Argument(help="another one; left out: all passes of the same profile")
    ] = None,
    results: Results = RESULTS,
    as_json: Annotated[bool, typer.Option("--json", help="print JSON")] = False,
) -> None:
    """A record beside another, or beside all passes of its profile."""
    import json

    from burnin.ticket.comparison import compare_records, table_lines

    with plain_errors():
        found = compare_records(record, other, results)
        if as_json:
            rows = [vars(row) for row in found.rows]
            typer.echo(json.dumps({"beside": found.beside, "rows": rows}, indent=1))
        else:
            for line in table_lines(found):
                typer.echo(line)
            if found.plot is not None:
                typer.echo(f"plot    {found.plot}")


def shop(
    init: Annotated[bool, typer.Option("--init", help="write a shop file to fill in")] = False,
) -> None:
    """The shop file and the shop's public key: where they lie, and whether they are good."""
    from burnin.ticket.handover.signing import PUBLIC_FILE, key_fingerprint, public_bytes, shop_key
    from burnin.ticket.shop import FILE, load_shop, shop_folder, write_example

    with plain_errors():
        folder = shop_folder()
        if init:
            write_example(folder)
            typer.echo("An example was written: put your own name, address and warranty into it.")
        found = load_shop()
        typer.echo(f"shop file   {folder / FILE}: {found.name or 'no name yet'}")
        public = public_bytes(shop_key())
        typer.echo(f"public key  {folder / PUBLIC_FILE}: {key_fingerprint(public)}")
