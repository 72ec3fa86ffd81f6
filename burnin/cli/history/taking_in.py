"""Brings the store up to what lies in the results: when somebody asks for it, and after a run."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from burnin.cli.exit import told
from burnin.core.meaning import Reason
from burnin.history import needs
from burnin.history.meanings import HistoryNote, HistoryReason
from burnin.record.schema.folders import records_below
from burnin.report.languages.catalogue import Catalogue, catalogue

if TYPE_CHECKING:
    from burnin.cli.history.target import Target
    from burnin.history.sync import Synced, Told, Wanted

_MOST_NAMED = 20
_AFTER_A_RUN = 20
"""Most places that are taken in at the end of a run."""


def take_in(results: Path, given: str, language: str, *, as_json: bool) -> None:
    """Take in what is new, with its progress on the terminal; raises BadInput."""
    needs.require()
    from burnin.cli.history.target import names, target_of
    from burnin.history.sync import Wanted
    from burnin.ticket.shop.shop_file import load_shop

    words, shop = catalogue(language), load_shop()
    target = target_of(given, results, shop)
    named, why_not = names(names_kept=shop.history_names)
    if why_not is not None:
        typer.echo(words.say(why_not), err=True)
    with _progress(words) as show:
        found = _bring(target, results, Wanted(named, shop.history_names), show)
    if as_json:
        apart = [{"place": place, "reason": why.as_plain()} for place, why in found.apart]
        content = {"taken": found.taken, "unchanged": found.unchanged, "apart": apart}
        typer.echo(json.dumps(content, ensure_ascii=False, indent=1))
        return
    for place, why in found.apart[:_MOST_NAMED]:
        typer.echo(words.say(HistoryNote.KEPT_APART(file=place, reason=why)))
    typer.echo(
        words.say(
            HistoryNote.SYNCED(
                taken_count=found.taken,
                apart_count=len(found.apart),
                unchanged_count=found.unchanged,
                folder=target.shown,
            )
        )
    )


def after_run(folder: Path, words: Catalogue) -> list[str]:
    """Bring the store that there is up to the run that just ended; what to say of it.

    The run's own folder comes first, of others no more than a few: nobody waits for a backlog here.
    Whatever fails is named and costs the run nothing.
    """
    results = folder.parent.parent
    lacking = needs.missing()
    if lacking:
        return _said_once(HistoryReason.NOT_INSTALLED(missing=lacking), results, words)
    try:
        from burnin.cli.history.target import names, target_of
        from burnin.history.store import FILE
        from burnin.history.sync import Wanted
        from burnin.ticket.shop.shop_file import load_shop

        shop = load_shop()
        target = target_of("", results, shop)
        if target.server is None and not (target.folder / FILE).exists():
            return _said_once(HistoryReason.NO_STORE(folder=target.shown), results, words)
        named, _ = names(names_kept=shop.history_names)
        wanted = Wanted(named, shop.history_names, folder.parent.name, _AFTER_A_RUN)
        _bring(target, results, wanted)
    except Exception as error:  # whatever it is, the record is whole and the run is done
        return [words.say(HistoryNote.NOT_BROUGHT_UP(words=told(error, words)))]
    return []


def _said_once(what: Reason, results: Path, words: Catalogue) -> list[str]:
    """What a history would need: beside the first record of these results, never again."""
    is_first = len(list(islice(records_below(results), 2))) < 2
    return [words.say(what)] if is_first else []


def _bring(
    target: Target, results: Path, wanted: Wanted, show: Told | None = None
) -> Synced:
    from burnin.history.places import look_for
    from burnin.history.sync import sync_folder, sync_into

    look_for(results)
    if target.server is None:
        return sync_folder(results, target.folder, wanted, show)
    from burnin.cli.history.target import shelf_of
    from burnin.history.server.keeper import server_keeper

    with server_keeper(target.server, shelf_of(results)) as keeper:
        return sync_into(keeper, results, wanted, show)


@contextmanager
def _progress(words: Catalogue) -> Iterator[Callable[[int, int], None]]:
    """A line that counts, where somebody looks on."""
    shown = sys.stderr.isatty()

    def show(done: int, every: int) -> None:
        if shown:
            note = HistoryNote.PROGRESS(done_count=done, all_count=every)
            sys.stderr.write(f"\r{words.say(note)}")
            sys.stderr.flush()

    try:
        yield show
    finally:
        if shown:
            sys.stderr.write("\n")
