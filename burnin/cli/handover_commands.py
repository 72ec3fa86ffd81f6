"""Commands around the ticket: list, measure, hand over, verify, compare, the shop."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from burnin.cli.exit import plain_errors
from burnin.cli.terminal.own_language import own_language
from burnin.cli.ticket_options import RESULTS, By, Number, Results, Shown

Like = Annotated[str, typer.Option("--like", help="ticket of a known-good card of this kind")]


def tickets(
    find: Annotated[str, typer.Option(help="words that must occur; closed tickets too")] = "",
    as_json: Annotated[bool, typer.Option("--json", help="print JSON")] = False,
    results: Results = RESULTS,
    language: Shown = "en",
) -> None:
    """Open tickets, most urgent first, with what each still owes."""
    import json

    from burnin.cli.ticket_lines import as_row, listing
    from burnin.cli.ticket_terms import TicketLine
    from burnin.report.languages.catalogue import catalogue
    from burnin.ticket.ticket_list import find_tickets, open_tickets

    with plain_errors(language):
        words = catalogue(language)
        lines, faults = find_tickets(results, find) if find else open_tickets(results)
        if as_json:
            rows = [as_row(line, words) for line in lines]
            typer.echo(json.dumps(rows, indent=1, ensure_ascii=False))
        else:
            for line in listing(lines, words):
                typer.echo(line)
        for fault in faults:
            typer.echo(words.say(TicketLine.NOT_READ(fault=fault)), err=True)
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
    language: Shown = "en",
) -> None:
    """Take values of the unpowered card; without a point, everything owed is asked for.

    Exit code 1 where a value fails.
    """
    from burnin.cli.terminal.bench_prompts import ask_line, telling
    from burnin.cli.ticket_lines import value_lines
    from burnin.cli.ticket_terms import TicketLine
    from burnin.core.reading import Verdict
    from burnin.report.languages.catalogue import catalogue
    from burnin.ticket.before_power.meanings import CAUTIONS
    from burnin.ticket.before_power.measuring import measure as take_values
    from burnin.ticket.next_step import next_step

    with plain_errors(language):
        words = catalogue(language)
        for caution in CAUTIONS:
            typer.echo(f"! {words.say(caution)}")
        ask, tell = ask_line(words), telling(words)
        try:
            ticket, readings = take_values(
                results, number, point, value, csv, meter, like, ask, tell, by=by
            )
        except KeyboardInterrupt:
            typer.echo(f"\n{words.say(TicketLine.LEFT_OFF(number=number))}")
            raise typer.Exit(130) from None
        for line in value_lines(readings, words):
            typer.echo(line)
        typer.echo(words.say(next_step(ticket)))
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
    from burnin.cli.terms import LargeWord
    from burnin.cli.ticket_lines import in_another_language, owed_lines
    from burnin.cli.ticket_terms import TicketLine
    from burnin.report.languages.catalogue import catalogue
    from burnin.ticket.handover.handover import hand_over, spoken
    from burnin.ticket.log.store import read_ticket
    from burnin.ticket.next_step import next_step

    shown = (language or [own_language()])[0]
    with plain_errors(shown):
        words = catalogue(shown)
        ticket = read_ticket(results, number)
        good = read_ticket(results, like) if like else None
        languages, on = spoken(ticket, tuple(language or ()), paper)
        made = hand_over(ticket, languages=languages, paper=on, known_good=good, by=by)
        verdict = words.word(made.verdict).upper()
        if ticket.simulated:
            verdict = f"{words.say(LargeWord.SIMULATED())} {verdict}"
        line = TicketLine.FINGERPRINT(verdict=verdict, fingerprint=made.fingerprint)
        typer.echo(words.say(line))
        for file in made.files:
            typer.echo(f"  {file}")
        for told in in_another_language(languages):
            typer.echo(words.say(told))
        for owed in owed_lines(made.ticket, words):
            typer.echo(owed)
        if made.ticket.closed:
            typer.echo(words.say(next_step(made.ticket)))


def verify(
    paths: Annotated[
        list[Path] | None, typer.Argument(help="tickets, records, handovers or sheets")
    ] = None,
    fingerprint: Annotated[str, typer.Option(help="as printed on a sheet")] = "",
    head: Annotated[
        str, typer.Option(help="fingerprint off a sheet, or a head given out: must lead up to this")
    ] = "",
    key: Annotated[
        Path | None,
        typer.Option(help="the shop's public key (PEM), or its shop-keys.json; on another bench"),
    ] = None,
    stamped_by: Annotated[
        Path | None, typer.Option(help="certificate (PEM) for time stamps (*.tsr) beside a file")
    ] = None,
    results: Results = RESULTS,
    language: Shown = "en",
) -> None:
    """Whether a record or sheet is as it left; exit code 1 where something was changed."""
    from burnin.cli.terms import CliRefusal
    from burnin.cli.ticket_terms import TicketLine
    from burnin.core.errors import BadInput
    from burnin.core.meaning import Reason
    from burnin.report.languages.catalogue import catalogue
    from burnin.ticket.handover.checking import check, find_fingerprint
    from burnin.ticket.handover.meanings import KEY_FAULTS

    changed = False
    with plain_errors(language):
        words = catalogue(language)
        if not paths and not fingerprint:
            raise BadInput(CliRefusal.VERIFY_WHAT())
        found = list(paths or ())
        if fingerprint:
            made = find_fingerprint(results, fingerprint)
            if isinstance(made, Reason):
                typer.echo(words.say(TicketLine.CHANGED(path=str(results))))
                typer.echo(f"  {words.say(made)}")
                changed = True
            else:
                found.append(made)
        for path in found:
            verdict = check(path, key, head=head, stamper=stamped_by)
            line = TicketLine.AS_IT_LEFT if verdict.good else TicketLine.CHANGED
            if verdict.faults and all(f.means(*KEY_FAULTS) for f in verdict.faults):
                line = TicketLine.OTHER_KEY
            typer.echo(words.say(line(path=str(path))))
            for meaning in (*verdict.faults, *verdict.told):
                typer.echo(f"  {words.say(meaning)}")
            changed = changed or not verdict.good
    if changed:
        raise typer.Exit(1)


def compare(
    record: Annotated[
        Path, typer.Argument(help="folder of a record, or a ticket's number: its newest run")
    ],
    others: Annotated[
        list[Path] | None,
        typer.Argument(help="others; left out: all passes of the same profile and model"),
    ] = None,
    results: Results = RESULTS,
    all_rows: Annotated[bool, typer.Option("--all", help="also what does not differ")] = False,
    plot: Annotated[
        Path | None, typer.Option("--plot", help="where the drawing (SVG) goes")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="print JSON")] = False,
    language: Shown = "en",
) -> None:
    """A record beside others, or beside all passes of its profile."""
    import shutil

    from burnin.cli.comparison.comparing import compare_and_tell

    with plain_errors(language):
        width = shutil.get_terminal_size((80, 24)).columns
        lines = compare_and_tell(
            record, others or [], results, plot, language,
            all_rows=all_rows, as_json=as_json, width=width,
        )  # fmt: skip
        for line in lines:
            typer.echo(line)


def shop(
    init: Annotated[bool, typer.Option("--init", help="write a shop file to fill in")] = False,
    rotate: Annotated[
        bool, typer.Option("--rotate", help="take a fresh key; the former stays known for its time")
    ] = False,
    language: Shown = "en",
) -> None:
    """The shop file and the shop's public key: where they lie, and whether they are good."""
    from burnin.cli.ticket_terms import TicketLine
    from burnin.report.languages.catalogue import catalogue
    from burnin.ticket.log.days_and_spans import utc_now
    from burnin.ticket.shop.known_keys import HISTORY_FILE, known_keys
    from burnin.ticket.shop.known_keys import rotate as take_fresh_key
    from burnin.ticket.shop.shop_file import FILE, load_shop, shop_folder, write_example
    from burnin.ticket.shop.shop_key import PUBLIC_FILE, key_fingerprint, public_bytes, shop_key

    with plain_errors(language):
        words, folder = catalogue(language), shop_folder()
        if init:
            write_example(folder, language)
            typer.echo(words.say(TicketLine.EXAMPLE_WRITTEN()))
        name, file = load_shop().name, str(folder / FILE)
        named = TicketLine.SHOP_FILE(path=file, name=name)
        typer.echo(words.say(named if name else TicketLine.NO_SHOP_NAME(path=file)))
        own = shop_key()
        if rotate:
            take_fresh_key(None, utc_now())
            own = shop_key()
        key = key_fingerprint(public_bytes(own))
        typer.echo(words.say(TicketLine.PUBLIC_KEY(path=str(folder / PUBLIC_FILE), key=key)))
        for former in (k for k in known_keys() if k.until_utc):
            until, path = former.until_utc, str(folder / HISTORY_FILE)
            told = TicketLine.FORMER_KEY(path=path, key=former.fingerprint, until_utc=until)
            typer.echo(words.say(told))
