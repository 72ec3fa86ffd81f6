"""Brings the store up to what lies in the results: when somebody asks for it, and after a run."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import typer

from burnin.cli.exit import told
from burnin.core.meaning import Reason
from burnin.history import needs
from burnin.history.meanings import HistoryNote, HistoryReason
from burnin.history.pseudonym import Named, pseudonyms
from burnin.report.languages.catalogue import Catalogue, catalogue

_MOST_NAMED = 20
_AFTER_A_RUN = 20
"""Most places that are taken in at the end of a run."""


def take_in(results: Path, target: Path | None, language: str, *, as_json: bool) -> None:
    """Take in what is new, with its progress on the terminal; raises BadInput."""
    needs.require()
    from burnin.history.store import store_folder
    from burnin.history.sync import sync
    from burnin.ticket.shop.shop_file import load_shop, shop_folder

    words, folder = catalogue(language), target or store_folder(results)
    names_kept = load_shop().history_names
    named, why_not = _named(shop_folder(), names_kept=names_kept)
    if why_not is not None:
        typer.echo(words.say(why_not), err=True)
    with _progress(words) as show:
        found = sync(results, folder, named, names_kept=names_kept, told=show)
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
                folder=str(folder),
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
        return [words.say(HistoryReason.NOT_INSTALLED(missing=lacking))]
    try:
        from burnin.history.store import FILE, store_folder
        from burnin.history.sync import sync
        from burnin.ticket.shop.shop_file import load_shop, shop_folder

        store = store_folder(results)
        if not (store / FILE).exists():
            return [words.say(HistoryReason.NO_STORE(folder=str(store)))]
        names_kept = load_shop().history_names
        named, _ = _named(shop_folder(), names_kept=names_kept)
        sync(
            results, store, named, names_kept=names_kept, first=folder.parent.name,
            most=_AFTER_A_RUN,
        )  # fmt: skip
    except Exception as error:  # whatever it is, the record is whole and the run is done
        return [words.say(HistoryNote.NOT_BROUGHT_UP(words=told(error, words)))]
    return []


def _named(folder: Path, *, names_kept: bool) -> tuple[Named, Reason | None]:
    """What stands in a customer's place, and why it is nothing where no key can be had."""
    if names_kept:
        return str.strip, None
    try:
        return pseudonyms(folder), None
    except OSError as error:
        why = HistoryReason.NO_PSEUDONYM(words=f"{folder}: {error.strerror or error}")
        return _nobody, why


def _nobody(customer: str) -> str:
    del customer
    return ""


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
