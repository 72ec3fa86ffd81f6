"""The effects of every fault of a link of some width and speed, and what they predict; kept."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from burnin.diagnosis.bench_nuisance import Widths
from burnin.diagnosis.effects import SILENT
from burnin.diagnosis.faults import faults
from burnin.diagnosis.prediction import Effects, Predicted, predict

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


@lru_cache(maxsize=16)
def link_model(width: int, most: int) -> tuple[Effects, Floats]:
    """Effects of a link's faults and each fault's shares of them."""
    import numpy as np

    found = faults(width, most)
    effects = sorted({e for fault in found for e in fault.shares} - {SILENT}, key=repr)
    places = {effect: place for place, effect in enumerate([SILENT, *effects])}
    shares = np.zeros((len(found), len(places)))
    for row, fault in enumerate(found):
        for effect, share in fault.shares.items():
            shares[row, places[effect]] = share
    return Effects(tuple(places), width, most), shares


@lru_cache(maxsize=48)
def _cached(
    width: int, most: int, warm: bool, reversal: bool, widths: Widths, settled: bool
) -> Predicted:
    return predict(link_model(width, most)[0], warm, reversal, widths, settled)


def predicted_for(
    table: Effects, warm: bool, reversal: bool, widths: Widths, settled: bool = False
) -> Predicted:
    """What every pair of effects lets a look see, with a warm card, on a port that reverses."""
    return _cached(table.most_width, table.most_generation, warm, reversal, widths, settled)
