"""The other way that was tried: a discrepancy state, the card less the model, kept on line.

The state follows the errors of this run as a first-order lag and shifts the forecast by a share of
itself; the width follows the size of the errors about it, as an inverse gamma spread that starts as
wide as on other hosts.
"""

from __future__ import annotations

import math

import numpy as np

from tests.evaluation.physics import Array

FOLLOWS_S = 60.0
SHARE = 0.5
"""How much of the state is believed to last until the forecast's time comes."""
PRIOR_COUNTS = 30.0
FORGETS_S = 180.0
NORMAL_95 = 1.96


def discrepancy(at_s: Array, ahead_s: float, off_k: Array, half_k: Array) -> tuple[Array, Array]:
    """Lower and upper bound about each forecast made at `at_s`, K.

    `off_k`: reading less forecast, known once its time has come. `half_k`: half width of the 95 %
    interval by the errors of other hosts.
    """
    low_k, high_k = np.empty_like(off_k), np.empty_like(off_k)
    state_k = 0.0
    counts = squares = PRIOR_COUNTS
    shift_k = np.zeros_like(off_k)
    done, seen_s = 0, math.nan
    for k, now_s in enumerate(at_s):
        while done < k and at_s[done] + ahead_s <= now_s + 1e-9:
            passed_s = 1.0 if math.isnan(seen_s) else float(at_s[done] - seen_s)
            seen_s = float(at_s[done])
            off = NORMAL_95 * float((off_k[done] - shift_k[done]) / half_k[done])
            keeps = math.exp(-passed_s / FORGETS_S)
            counts = PRIOR_COUNTS + (counts - PRIOR_COUNTS) * keeps + 1.0
            squares = PRIOR_COUNTS + (squares - PRIOR_COUNTS) * keeps + off * off
            state_k += (1.0 - math.exp(-passed_s / FOLLOWS_S)) * (float(off_k[done]) - state_k)
            done += 1
        shift_k[k] = SHARE * state_k
        half = math.sqrt(squares / counts) * half_k[k]
        low_k[k], high_k[k] = shift_k[k] - half, shift_k[k] + half
    return low_k, high_k
