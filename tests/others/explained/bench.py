"""Benches: what a host allows, how it hands out errors, and what is odd about it.

Shares are estimates from the trade, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

Rng = np.random.Generator


@dataclass(frozen=True)
class Bench:
    """A host and its slot.

    `from_top` the port numbers lanes from 15 down, `can_reverse` it does so where more lanes train
    that way, `mirrored_bits` its registers number them so. `noise_per_min` corrected errors a
    minute without cause at card and port; `stuck` lanes whose bits were set at boot at card and
    port; `gives_up_per_s` errors a second at which the port goes a rate lower; `narrows` whether
    the port drops lanes before rates when equalisation fails; `says_managed` how often it admits
    it; `coughs` share of errors that the sending end counts as replays; `margin` decades of bit
    error rate better (or worse) than usual; `stays_fallen` whether a rate given up stays so until
    the next start; `setup_tells_slot` whether the bench's set-up says what the slot gives.
    """

    generation: int
    card_generation: int
    card_width: int
    widths: tuple[int, ...] = (16, 8, 4, 2, 1)
    from_top: bool = False
    can_reverse: bool = False
    mirrored_bits: bool = False
    slot_lanes: int = 16
    tells_slot: bool = True
    noise_per_min: tuple[float, float] = (0.0, 0.0)
    stuck: tuple[frozenset[int], frozenset[int]] = (frozenset(), frozenset())
    masked: tuple[bool, bool] = (False, False)
    masked_as_null: bool = False
    card_bits: bool = True
    gives_up_per_s: float = 300.0
    narrows: bool = False
    says_managed: float = 0.85
    coughs: float = 0.02
    margin: float = 0.0
    stays_fallen: bool = False
    setup_tells_slot: bool = True
    watches_presence: bool = False
    has_other_screen: bool = True
    nuisance: tuple[str, ...] = ()

    @property
    def most_generation(self) -> int:
        """The highest generation that both ends have."""
        return min(self.generation, self.card_generation)

    @property
    def most_width(self) -> int:
        """Lanes that the slot carries and the card has."""
        return min(self.slot_lanes, self.card_width)


def _stuck(rng: Rng) -> tuple[frozenset[int], frozenset[int]]:
    def end() -> frozenset[int]:
        kind = rng.random()
        if kind < 0.4:
            return frozenset(int(n) for n in rng.choice(16, rng.integers(1, 5), replace=False))
        return frozenset(range(16)) if kind < 0.6 else frozenset()

    card, port = end(), end()
    return (card, port) if card or port else (card, frozenset(range(16)))


def _noise(rng: Rng) -> tuple[float, float]:
    rate = float(10 ** rng.uniform(-0.3, 1.6))
    where = rng.random()
    if where < 0.4:
        return rate, 0.0
    return (0.0, rate) if where < 0.8 else (rate, float(rate * rng.uniform(0.2, 2)))


def draw_bench(rng: Rng) -> Bench:
    """A bench with nought to three oddities."""
    odd: list[str] = []

    def has(name: str, share: float) -> bool:
        if rng.random() >= share:
            return False
        odd.append(name)
        return True

    card_generation = int(rng.choice([3, 4, 5], p=[0.3, 0.5, 0.2]))
    stuck = _stuck(rng) if has("stuck bits", 0.22) else (frozenset[int](), frozenset[int]())
    noise = _noise(rng) if has("noisy counters", 0.2) else (0.0, 0.0)
    if rng.random() < 0.3:
        noise = (noise[0] + rng.uniform(0, 0.05), noise[1] + rng.uniform(0, 0.05))
    widths = (16, 1) if has("x16 or x1 only", 0.07) else (16, 8, 4, 2, 1)
    split = has("split slot", 0.06)
    turned = not split and has("hidden reversal", 0.08)
    straight = not turned and len(widths) > 2
    masked = has("masked errors", 0.08)
    ends = [(True, True), (True, False), (False, True)][int(rng.integers(3))]
    return Bench(
        generation=int(rng.choice([3, 4, 5], p=[0.25, 0.45, 0.3])),
        card_generation=card_generation,
        card_width=8 if straight and rng.random() < 0.12 else 16,
        widths=widths,
        from_top=turned and rng.random() < 0.5,
        can_reverse=straight and not split and has("port reverses", 0.15),
        mirrored_bits=turned,
        slot_lanes=8 if split else 16,
        tells_slot=rng.random() < 0.6,
        noise_per_min=noise,
        stuck=stuck,
        masked=ends if masked else (False, False),
        masked_as_null=rng.random() < 0.5,
        card_bits=not has("card without lane register", 0.06),
        gives_up_per_s=float(10 ** rng.uniform(1.3, 3.3)),
        narrows=rng.random() < 0.3,
        says_managed=float(rng.choice([0.95, 0.6, 0.1], p=[0.7, 0.2, 0.1])),
        coughs=float(rng.choice([0.0, 0.02, 0.1])),
        margin=float(rng.normal(0.5, 0.7)),
        stays_fallen=rng.random() < 0.5,
        setup_tells_slot=rng.random() < 0.8,
        watches_presence=rng.random() < 0.3,
        has_other_screen=rng.random() < 0.6,
        nuisance=tuple(odd),
    )
