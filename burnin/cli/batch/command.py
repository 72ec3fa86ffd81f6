"""The command by which one card of a batch is burnt in: `burnin run`, as any card's."""

from __future__ import annotations

import sys
from collections.abc import Callable

from burnin.cli.request import Wish
from burnin.record.batches.batch import CardOfBatch


def command_of(card: CardOfBatch, wish: Wish, *, attended: bool) -> Callable[[int], list[str]]:
    """The command of a card, once the number of its socket is known.

    A card that has a record goes on in it. `attended`: somebody sits at the keeper's terminal, who
    is asked what the run asks.
    """
    options = wish.options
    begins = [
        ("--card", card.address),
        ("--profile", card.asks_profile),
        ("--ticket", card.ticket),
        ("--simulated", options.simulated),
        ("--engine", options.engine),
    ]
    said: list[tuple[str, str]] = [
        *([("--resume", str(wish.results / card.record))] if card.record else begins),
        ("--customer", wish.ticket.customer),
        ("--technician", wish.ticket.technician),
        ("--shop", wish.ticket.shop),
        ("--now", wish.now),
        ("--monitors", wish.monitors),
        *(("--without", stage) for stage in sorted(wish.left_out)),
    ]
    fixed = ["--results", str(wish.results), "--language", wish.language]
    if options.simulated and not card.record:
        fixed += ["--seed", str(options.seed), "--pace", f"{options.pace:g}"]
    if wish.supply_w:
        fixed += ["--supply-w", f"{wish.supply_w:g}"]
    if wish.no_loop:
        fixed.append("--no-loop")
    if wish.ask:
        fixed.append("--ask")
    elif wish.unattended or not (attended or options.simulated):
        fixed.append("--unattended")
    given = [f"{name}={value}" for name, value in said if value]

    def command(socket: int) -> list[str]:
        return [
            sys.executable, "-m", "burnin", "run", *given, *fixed, "--batch-socket", str(socket)
        ]  # fmt: skip

    return command
