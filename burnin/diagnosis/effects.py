"""What a fault does to the link: a small set of effects, and how probable each is for a fault.

The rules of width are those of `burnin.connector.training`. The shares below are stated beliefs
about benches, not measurements: receiver detection may miss one open leg or not (the standard
leaves the threshold to the transmitter), a single-ended pair trains at 2.5 or 5 GT/s and fails
equalisation from 8 GT/s on (common practice, no source), a resistance may be anything between
harmless and open, one bad contact in six comes with warmth.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

Kind = Literal["silent", "dead", "marginal", "absent", "flaky", "lost", "lossy", "held", "saving"]
Side = Literal["A", "B"]

WARM_ONLY_SHARE = 0.15
"""Share of bad contacts that are bad only once the card is warm."""
DEAD_SHARE = 0.65
"""Share of open legs whose lane takes no part, rather than running on the other leg alone."""


@dataclass(frozen=True)
class Effect:
    """One effect. `lanes` dead for `dead`; a `marginal` lane of one `side` settles at
    `generation`; `regime`: clean there, errors there, or a burst of errors one generation above.

    `warm_only`: there only once the card is warm. For `held` the host's set-up holds the speed,
    for `saving` its power saving does, for `lossy` every lane is marginal.
    """

    kind: Kind
    lanes: frozenset[int] = frozenset()
    side: Side = "B"
    generation: int = 0
    regime: Literal["clean", "errors", "burst"] = "clean"
    warm_only: bool = False


SILENT = Effect("silent")
ABSENT = Effect("absent")
LOST = Effect("lost")
FLAKY = Effect("flaky")
"""A card that comes up at some starts only."""

Shares = dict[Effect, float]


def mixed(parts: Iterable[tuple[float, Shares]]) -> Shares:
    """Several sets of shares mixed by weight; the weights add up to 1."""
    found: Shares = {}
    for weight, shares in parts:
        for effect, share in shares.items():
            found[effect] = found.get(effect, 0.0) + weight * share
    return found


def dead(lanes: Iterable[int]) -> Effect:
    """Lanes that carry nothing."""
    return Effect("dead", frozenset(lanes))


def _marginal(
    lane: int, side: Side, generation: int, regime: Literal["clean", "errors", "burst"]
) -> Effect:
    return Effect("marginal", frozenset({lane}), side, generation, regime)


def single_ended(lane: int, side: Side, most: int) -> Shares:
    """A pair that runs on one leg, where the link could run at generation `most`."""
    if most == 1:
        return {SILENT: 1.0}
    shares: Shares = {
        _marginal(lane, side, 2, "errors"): 0.45,
        _marginal(lane, side, 1, "clean"): 0.40,
    }
    rest = SILENT if most == 2 else _marginal(lane, side, 2, "clean")
    return shares | {rest: 0.15}


def open_leg(lane: int, side: Side, most: int) -> Shares:
    """One leg that carries nothing."""
    return mixed(
        [
            (DEAD_SHARE, {dead([lane]): 1.0}),
            (1.0 - DEAD_SHARE, single_ended(lane, side, most)),
        ]
    )


def resistive_leg(lane: int, side: Side, most: int) -> Shares:
    """One leg with some resistance: harmless, marginal at some generation, or as good as open."""
    shares: Shares = {
        SILENT: 0.30,
        dead([lane]): 0.16,
        _marginal(lane, side, most, "errors"): 0.22,
    }
    left = 1.0 - sum(shares.values())
    lower = range(most - 1, 0, -1)
    if not lower:
        return shares | {SILENT: shares[SILENT] + left}
    weights = [4.0 if step == 0 else 1.0 for step, _ in enumerate(lower)]
    for generation, weight in zip(lower, weights, strict=True):
        part = left * weight / sum(weights)
        regimes: list[tuple[Literal["clean", "errors", "burst"], float]] = [("clean", 0.55)]
        regimes.append(("errors", 0.25 if generation >= 2 else 0.0))
        regimes.append(("burst", 0.20 if generation >= 2 else 0.0))
        whole = sum(share for _, share in regimes)
        for regime, share in regimes:
            if share:
                shares[_marginal(lane, side, generation, regime)] = part * share / whole
    return shares


def at_times(shares: Shares) -> Shares:
    """Part of the share of every visible effect moved to warmth."""
    found: Shares = {}
    for effect, share in shares.items():
        if effect.kind in ("dead", "marginal", "lossy"):
            warm = Effect(
                effect.kind, effect.lanes, effect.side, effect.generation, effect.regime, True
            )
            found[effect] = share * (1.0 - WARM_ONLY_SHARE)
            found[warm] = share * WARM_ONLY_SHARE
        else:
            found[effect] = share
    return found
