"""A batch from wish to exit code: pick cards, start the keeper, show it, say each card's word."""

from __future__ import annotations

import secrets
import sys
from collections.abc import Callable, Container, Sequence
from dataclasses import replace
from pathlib import Path

from burnin.card.capabilities import Card
from burnin.card.screens import screens_on
from burnin.cli.batch.again import batch_to_do, borne_out
from burnin.cli.batch.as_json import BatchJson, batch_ended
from burnin.cli.batch.at_terminal import AsksAtTerminal
from burnin.cli.batch.choosing import Chosen, Wanted, choose, named_cards
from burnin.cli.batch.command import command_of
from burnin.cli.batch.lines import BatchLines
from burnin.cli.batch.refusals import BatchRefusal
from burnin.cli.batch.terms import BatchLine
from burnin.cli.batch.words_around import lines_after, lines_before, print_lines
from burnin.cli.request import Wish
from burnin.cli.stop_signals import StopAsked
from burnin.core.clock import WallClock, iso
from burnin.core.errors import BadInput, NoCard
from burnin.core.meaning import Meaning
from burnin.core.reading import known
from burnin.record.batches.batch import Batch, CardOfBatch, batch_file, write_batch
from burnin.report.languages.catalogue import Catalogue, catalogue
from burnin.run.batch.bench_lock import hold_bench
from burnin.run.batch.keeper import Keeper
from burnin.run.batch.member import Member
from burnin.run.batch.people import AsksPeople, Nobody
from burnin.run.batch.worst import exit_code
from burnin.run.bench import Options, cards_of_bench
from burnin.run.card_lock import holder_of
from burnin.run.leave.need import most_w
from burnin.ticket.shop.shop_file import load_shop


def run_batch(wish: Wish, cards: Sequence[str]) -> int:
    """Carry out a batch on the named cards, all of the bench where none is; the exit code.

    Raises BurninError for bad input, before anything has begun.
    """
    _check(wish)
    there = cards_of_bench(wish.options)
    if not there:
        raise NoCard(BatchRefusal.NO_CARD())
    shop = load_shop()
    wanted = Wanted(
        named_cards(cards), wish.profile, shop.card_profiles, wish.results,
        bool(wish.options.simulated),
    )  # fmt: skip
    batch = new_batch(choose(there, wanted), wish.options)
    with StopAsked() as stop:
        batch = keep(wish, batch, batch.cards, there, stop.number)
    return _end(wish, batch)


def run_batch_again(wish: Wish, file: Path) -> int:
    """Go on with a batch: its cards that have not come to their end; the exit code of all.

    Raises BurninError for bad input, before anything has begun.
    """
    if wish.profile or wish.ticket.number:
        raise BadInput(BatchRefusal.OWN_PROFILES())
    batch, left = batch_to_do(file)
    if not left:
        return _told_again(wish, batch)
    options = Options(batch.scenario, batch.seed, batch.pace, "", batch.engine)
    again = replace(wish, resume=None, results=_results(wish), options=options)
    there = cards_of_bench(options)
    seen = {card.identity().address for card in there}
    gone = [card.address for card in left if card.address not in seen]
    if gone:
        raise BadInput(BatchRefusal.GONE(addresses=tuple(gone)))
    with StopAsked() as stop:
        batch = keep(again, batch, left, there, stop.number)
    return _told_again(wish, batch, {card.address for card in left})


def keep(
    wish: Wish,
    batch: Batch,
    to_do: Sequence[CardOfBatch],
    there: Sequence[Card],
    stop_asked: Callable[[], int],
) -> Batch:
    """Have the keeper burn in what is to do, and show it; the batch with every word.

    `stop_asked`: the signal that asks all runs to end, 0 while none does.
    """
    shop, words = load_shop(), catalogue(wish.language)
    budget = shop.power.budget() if shop.power is not None else None
    batch = replace(batch, budget_w=budget.watts if budget else None)
    attended = sys.stdin.isatty() and not wish.as_json
    by_address = {card.identity().address: card for card in there}
    with hold_bench(simulated=batch.simulated) as holds:
        members = [
            Member(
                card, command_of(card, wish, attended=attended), holds,
                known(by_address[card.address].telemetry().power_w),
                most_w(by_address[card.address].ratings()),
            )
            for card in to_do
        ]  # fmt: skip
        screen = _screen(wish, words)
        people = _people(words, screen, there)
        keeper = Keeper(batch, members, wish.results, budget, screen, people, stop_asked)
        others = _seat_others(keeper, there, members, simulated=batch.simulated)
        if not wish.as_json:
            print_lines(lines_before(keeper.batch, to_do, words, others))
        screen.show(members)
        try:
            batch = keeper.run()
        finally:
            screen.close()
    return batch


def _told_again(wish: Wish, batch: Batch, just_done: Container[str] = ()) -> int:
    """Say every card's word as its record bears it out, and keep that."""
    batch = borne_out(batch, _results(wish), just_done)
    batch = replace(batch, ended_utc=batch.ended_utc or iso(WallClock().utc()))
    write_batch(_results(wish), batch)
    return _end(wish, batch)


def _end(wish: Wish, batch: Batch) -> int:
    """Say every card's word; the exit code of the worst."""
    results, code = _results(wish), exit_code(batch)
    file = batch_file(results, batch.batch_id)
    if wish.as_json:
        batch_ended(batch, str(file), code)
    else:
        print_lines(lines_after(batch, results, catalogue(wish.language)))
    return code


def _results(wish: Wish) -> Path:
    """Where the batch lies: a batch that is gone on with names it itself."""
    return wish.results if wish.resume is None else wish.resume.parent.parent


def _check(wish: Wish) -> None:
    if wish.resume is not None:
        raise BadInput(BatchRefusal.RESUME_ONE())
    if wish.options.software_vulkan:
        raise BadInput(BatchRefusal.SOFTWARE())
    if wish.ticket.number:
        raise BadInput(BatchRefusal.ONE_TICKET())
    if wish.ticket.card_label:
        raise BadInput(BatchRefusal.ONE_LABEL())


def new_batch(chosen: Sequence[Chosen], options: Options) -> Batch:
    """A batch that has not begun, with a number of its own."""
    now = WallClock().utc()
    cards = tuple(
        CardOfBatch(
            one.identity.address, known(one.identity.name) or "", one.slot_number, one.ticket,
            one.profile, one.asks_profile, slot_name=one.slot_name,
        )
        for one in chosen
    )  # fmt: skip
    return Batch(
        batch_id=f"{now.strftime('%Y%m%dT%H%M%SZ')}-{secrets.token_hex(2)}",
        started_utc=iso(now),
        cards=cards,
        simulated=bool(options.simulated),
        scenario=options.simulated,
        seed=options.seed,
        pace=options.pace,
        engine=options.engine,
    )


def _seat_others(
    keeper: Keeper, cards: Sequence[Card], members: Sequence[Member], *, simulated: bool
) -> list[Meaning]:
    """What takes no part draws all the same; a card that another run works, what it may at most.

    Gives what is to be said of them.
    """
    mine, found = {member.address for member in members}, list[Meaning]()
    for card in cards:
        address = card.identity().address
        if address in mine:
            continue
        holder = None if simulated else holder_of(address)
        power_w = None if holder is not None else known(card.telemetry().power_w)
        limit_w = most_w(card.ratings())
        keeper.seat_other(address, power_w, limit_w)
        if holder is not None:
            found.append(BatchLine.NOT_UNDER_BUDGET(reason=holder.reason(address)))
        if power_w is None and limit_w is None:
            found.append(BatchLine.UNBOUNDED(address=address))
    return found


def _screen(wish: Wish, words: Catalogue) -> BatchLines | BatchJson:
    if wish.as_json:
        return BatchJson(simulated=bool(wish.options.simulated))
    from burnin.cli.terminal.patient_console import PatientConsole

    return BatchLines(
        PatientConsole(highlight=False), words, simulated=bool(wish.options.simulated)
    )


def _people(
    words: Catalogue, screen: BatchLines | BatchJson, there: Sequence[Card]
) -> AsksPeople:
    if not sys.stdin.isatty() or isinstance(screen, BatchJson):
        return Nobody()
    seen = {
        card.identity().address: screens_on(card.outputs())
        for card in there
    }
    return AsksAtTerminal(words, screen, seen)
