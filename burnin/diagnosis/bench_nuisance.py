"""What a bench does to a look without any fault of link or card: noise, masks, odd widths.

An end of the link may count errors that no lane makes, may report none at all, or may hold lane
error bits from before; a port may train at some widths only. Shares are beliefs (common practice,
no source); what the bench has shown with a known-good card moves them by Bayes' rule.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from burnin.diagnosis.evidence import LinkLook


class Counting(StrEnum):
    """How an end of the link counts errors."""

    HONEST = "honest"
    NOISY = "noisy"
    MASKED = "masked"


class Widths(StrEnum):
    """Which widths a port trains at: all of the standard's, or the widest and a single lane."""

    ALL = "all"
    FULL_OR_ONE = "full or one"
    HALF = "half"


COUNTING_SHARE = {Counting.HONEST: 0.86, Counting.NOISY: 0.08, Counting.MASKED: 0.06}
WIDTHS_SHARE = {Widths.ALL: 0.91, Widths.FULL_OR_ONE: 0.06, Widths.HALF: 0.03}
P_STUCK_UNSEEN = 0.008
"""How probable bits of an end came up in a look for no reason."""
STUCK_LANE = 0.25
"""Chance of a lane's bit at an end whose bits mean nothing."""

COUNT_EDGES = (0, 3, 30)
"""Error counts are told apart as 0, up to 3, up to 30, more."""
NOISY_COUNTS = (0.06, 0.24, 0.35, 0.35)
"""Chance of the four at an end that counts what no lane makes, whatever the lanes do."""
MASKED_COUNTS = (0.997, 0.001, 0.001, 0.001)
SOUND_COUNTS = (0.970, 0.025, 0.004, 0.001)


def counted(count: int) -> int:
    """The class of an error count, 0 to 3."""
    return sum(count > edge for edge in COUNT_EDGES)


@dataclass(frozen=True)
class Bench:
    """Shares of how each end counts (card, port), and of the widths the port trains at."""

    counting: tuple[dict[Counting, float], dict[Counting, float]]
    widths: dict[Widths, float]


def bench_of(known_good: Sequence[LinkLook]) -> Bench:
    """What is to be expected of a bench, by what it showed with a card known to be good.

    Noise that the bench makes reaches the receivers of both ends.
    """
    rows = {
        Counting.HONEST: SOUND_COUNTS,
        Counting.NOISY: NOISY_COUNTS,
        Counting.MASKED: MASKED_COUNTS,
    }
    ends = []
    for place in (0, 1):
        shares = dict(COUNTING_SHARE)
        for look in known_good:
            count = look.errors[place]
            if count is not None:
                shares = {way: p * rows[way][counted(count)] for way, p in shares.items()}
        ends.append({way: share / sum(shares.values()) for way, share in shares.items()})
    widths = dict(WIDTHS_SHARE)
    for look in known_good:
        if look.width is not None and look.width > look.most_width // 2:
            widths[Widths.HALF] *= 0.02
        elif look.width is not None and look.width == look.most_width // 2:
            widths[Widths.HALF] *= 20.0
    total = sum(widths.values())
    return Bench(
        (ends[0], ends[1]),
        {way: share / total for way, share in widths.items()},
    )


def widths_worth_trying(looks: Sequence[LinkLook], bench: Bench) -> list[Widths]:
    """The ways of training widths that what was seen can have come of."""
    found = [Widths.ALL]
    seen = [(look.width, look.most_width) for look in looks if look.width is not None]
    if any(width == 1 < most for width, most in seen):
        found.append(Widths.FULL_OR_ONE)
    if seen and all(width <= most // 2 for width, most in seen) and bench.widths[Widths.HALF]:
        found.append(Widths.HALF)
    return found
