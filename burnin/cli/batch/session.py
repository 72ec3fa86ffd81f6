"""A batch from wish to exit code: pick cards, start the keeper, show it, say each card's word."""

from __future__ import annotations

import secrets
import sys
from collections.abc import Sequence
from pathlib import Path

from burnin.card.capabilities import Card
from burnin.cli.batch.as_json import BatchJson
from burnin.cli.batch.at_terminal import AsksAtTerminal
from burnin.cli.batch.choosing import Chosen, Wanted, choose, named_cards
from burnin.cli.batch.command import command_of
from burnin.cli.batch.lines import BatchLines
from burnin.cli.batch.row import card_text, large_word
from burnin.cli.batch.terms import BatchLine
from burnin.cli.request import Wish
from burnin.cli.stop_signals import StopAsked
from burnin.cli.terminal.output import quiet_output
from burnin.core.clock import WallClock, iso
from burnin.core.errors import BadInput, NoCard
from burnin.core.meaning import Meaning
from burnin.core.reading import known
from burnin.record.batches.batch import Batch, CardOfBatch, batch_file
from burnin.report.languages.catalogue import Catalogue, catalogue
from burnin.run.batch.bench_lock import hold_bench
from burnin.run.batch.budget import Budget
from burnin.run.batch.keeper import Keeper
from burnin.run.batch.member import Member
from burnin.run.batch.people import AsksPeople, Nobody
from burnin.run.batch.worst import exit_code
from burnin.run.bench import cards_of_bench
from burnin.run.card_lock import holder_of
from burnin.run.leave.need import most_w
from burnin.ticket.shop.shop_file import load_shop


def run_batch(wish: Wish, cards: Sequence[str]) -> int:
    """Carry out a batch on the named cards, all of the bench where none is; the exit code.

    Raises BurninError for bad input, before anything has begun.
    """
    _check(wish)
    shop, words = load_shop(), catalogue(wish.language)
    budget = shop.power.budget() if shop.power is not None else None
    there = cards_of_bench(wish.options)
    if not there:
        raise NoCard("No graphics card on this bench; `burnin cards` lists what there is.")
    simulated = bool(wish.options.simulated)
    wanted = Wanted(
        named_cards(cards), wish.profile, shop.card_profiles, wish.results, simulated
    )
    chosen = choose(there, wanted)
    attended = sys.stdin.isatty() and not wish.as_json
    batch = _batch(chosen, budget, simulated=simulated)
    with hold_bench(simulated=simulated) as holds, StopAsked() as stop:
        members = [
            Member(
                card, command_of(one, wish, attended=attended), holds,
                known(one.card.telemetry().power_w), most_w(one.card.ratings()),
            )
            for one, card in zip(chosen, batch.cards, strict=True)
        ]  # fmt: skip
        screen = _screen(wish, words)
        people = _people(words, screen, chosen)
        keeper = Keeper(batch, members, wish.results, budget, screen, people, stop.number)
        others = _seat_others(keeper, there, members, simulated=simulated)
        if not wish.as_json:
            _print(_before(batch, words, others))
        screen.show(members)
        try:
            batch = keeper.run()
        finally:
            screen.close()
    code = exit_code(batch)
    if isinstance(screen, BatchJson):
        screen.ended(batch, str(batch_file(wish.results, batch.batch_id)), code)
    else:
        _print(_after(batch, wish.results, words))
    return code


def _check(wish: Wish) -> None:
    if wish.resume is not None:
        raise BadInput("--resume goes on with one record, whose card it knows: leave the cards out")
    if wish.options.software_vulkan:
        raise BadInput("--software-vulkan works no card: it cannot be one of several")
    if wish.ticket.number:
        raise BadInput("--ticket is one card's: name it with the card, --card ADDRESS=TICKET")
    if wish.ticket.card_label:
        raise BadInput("--label is one card's: leave it out where there are several")


def _batch(chosen: Sequence[Chosen], budget: Budget | None, *, simulated: bool) -> Batch:
    now = WallClock().utc()
    cards = tuple(
        CardOfBatch(
            one.identity.address, known(one.identity.name) or "", one.slot_number, one.ticket,
            one.profile,
        )
        for one in chosen
    )  # fmt: skip
    batch_id = f"{now.strftime('%Y%m%dT%H%M%SZ')}-{secrets.token_hex(2)}"
    return Batch(batch_id, iso(now), cards, simulated, budget.watts if budget else None)


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
        return BatchJson()
    from burnin.cli.terminal.patient_console import PatientConsole

    return BatchLines(
        PatientConsole(highlight=False), words, simulated=bool(wish.options.simulated)
    )


def _people(
    words: Catalogue, screen: BatchLines | BatchJson, chosen: Sequence[Chosen]
) -> AsksPeople:
    if not sys.stdin.isatty() or isinstance(screen, BatchJson):
        return Nobody()
    seen = {
        one.identity.address: tuple(
            output.name
            for output in known(one.card.outputs()) or ()
            if output.status == "connected"
        )
        for one in chosen
    }
    return AsksAtTerminal(words, screen, seen)


def _before(batch: Batch, words: Catalogue, others: Sequence[Meaning]) -> list[str]:
    """What is burnt in with what, and what bounds it, before anything begins."""
    count = len(batch.cards)
    bounds = (
        BatchLine.NO_BUDGET(cards_count=count)
        if batch.budget_w is None
        else BatchLine.BUDGET(budget_w=batch.budget_w, cards_count=count)
    )
    cards = (
        BatchLine.CARD_OF_TICKET(card=name, profile=card.profile, ticket=card.ticket)
        if card.ticket
        else BatchLine.CARD(card=name, profile=card.profile)
        for card in batch.cards
        for name in (card_text(card, words),)
    )
    return [words.say(line) for line in (bounds, *cards, *others)]


def _after(batch: Batch, results: Path, words: Catalogue) -> list[str]:
    """Each card's word with its record, and how a run that has none is gone on with."""
    lines = [""]
    for card in batch.cards:
        word = large_word(card, words, simulated=batch.simulated)
        why = "" if card.why is None else words.say(card.why)
        told = BatchLine.WORD(card=card_text(card, words), word=word, why=why)
        lines.append(words.say(told))
        if not card.record:
            continue
        record = results / card.record
        lines.append("    " + words.say(BatchLine.RECORD(record=str(record))))
        if card.word is None:
            command = f"burnin run --resume {record}"
            lines.append("    " + words.say(BatchLine.GO_ON(command=command)))
    file = batch_file(results, batch.batch_id)
    return [*lines, words.say(BatchLine.FILE(file=str(file)))]


def _print(lines: Sequence[str]) -> None:
    try:
        sys.stdout.write("\n".join(lines) + "\n")
        sys.stdout.flush()
    except OSError:
        quiet_output()
