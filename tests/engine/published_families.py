"""The pattern families as they were published, written down once more for tests.

Not read from the package: a family, a step, a pass or a claim that got lost there must be missed.
"""

from __future__ import annotations

NAMES = (
    "checkerboard", "hammer", "march", "moving_inversions", "own_address", "pseudo_random",
    "retention", "solid", "walking_bits",
)  # fmt: skip

WRITTEN_AND_READ = {
    "solid": (3, 3),
    "checkerboard": (2, 2),
    # a one and a zero at each of the 32 positions of a word
    "walking_bits": (64, 64),
    "own_address": (2, 2),
    # eight bases of (w; r, w; r, w; r)
    "moving_inversions": (8 * 3, 8 * 3),
    "pseudo_random": (2, 2),
    # six backgrounds of {w0; r0, w1; r1, w0; r0, w1; r1, w0; r0}
    "march": (6 * 5, 6 * 5),
    "hammer": (2, 2),
    "retention": (2, 2),
}
"""How often each family writes and reads the whole area."""

FINDS = {
    "solid": {"stuck-at", "transition"},
    "checkerboard": {"stuck-at", "bridge between neighbouring cells", "leakage"},
    "walking_bits": {"stuck-at", "bridge between data lines", "coupling within a word"},
    "own_address": {"address decoder"},
    "moving_inversions": {"transition", "coupling between words", "address decoder"},
    "pseudo_random": {
        "stuck-at", "transition", "pattern-sensitive coupling", "address decoder",
    },
    "march": {
        "stuck-at", "transition", "address decoder", "inversion, idempotent and state coupling",
    },
    "hammer": {"disturbance by repeated row activation"},
    "retention": {"data retention"},
}  # fmt: skip
"""Fault classes that each family is there to find."""
