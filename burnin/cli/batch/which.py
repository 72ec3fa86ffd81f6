"""What `burnin run` was asked for: one card, several together, or a batch to go on with."""

from __future__ import annotations

from collections.abc import Sequence

from burnin.cli.batch.refusals import BatchRefusal
from burnin.cli.request import Wish
from burnin.core.errors import BadInput


def run_wish(wish: Wish, cards: Sequence[str], *, every_card: bool) -> int:
    """Burn in one card, or several together; the exit code. Raises BurninError for bad input.

    `cards` as they were named; with `every_card` none may be.
    """
    if every_card and cards:
        raise BadInput(BatchRefusal.EVERY_AND_NAMED())
    if wish.batch_socket >= 0:
        from burnin.cli.batch.card_run import run_card_of_batch

        return run_card_of_batch(wish)
    if wish.resume is not None and not (every_card or cards):
        from burnin.cli.batch.again import is_batch

        if is_batch(wish.resume):
            from burnin.cli.batch.session import run_batch_again

            return run_batch_again(wish, wish.resume)
    if every_card or len(cards) > 1:
        from burnin.cli.batch.session import run_batch

        return run_batch(wish, cards)
    from burnin.cli.session import run_profile

    return run_profile(wish)
