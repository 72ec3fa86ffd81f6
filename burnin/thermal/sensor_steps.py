"""What one reading in whole steps tells of the value behind it.

A code says that the value lay in its cell. The likelihood is exact,
P(code) = Phi((upper - m)/s) - Phi((lower - m)/s), and the state takes the mean and the variance of
the Gaussian cut to the cell: a code that repeats what is known teaches nothing, a code that changes
teaches much.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

_ROOT_2 = math.sqrt(2.0)
_ROOT_2_PI = math.sqrt(2.0 * math.pi)
_FAR = 5.5


def cut(mean: float, sd: float, lower: float, upper: float) -> tuple[float, float, float]:
    """A Gaussian cut to [lower, upper]: (probability, shift of mean in sd, variance ratio).

    Far outside (over 5.5 sd from the cell) the cell acts as a plain reading of its centre.
    """
    a, b = (lower - mean) / sd, (upper - mean) / sd
    if a > _FAR or b < -_FAR:
        width = b - a
        centre = 0.5 * (a + b)
        noise = width * width / 12.0
        density = math.exp(-0.5 * min(60.0, centre * centre)) / _ROOT_2_PI
        return min(1.0, density * width), centre / (1.0 + noise), noise / (1.0 + noise)
    inside = max(0.5 * (math.erf(b / _ROOT_2) - math.erf(a / _ROOT_2)), 1e-12)
    at_a = math.exp(-0.5 * a * a) / _ROOT_2_PI
    at_b = math.exp(-0.5 * b * b) / _ROOT_2_PI
    shift = (at_a - at_b) / inside
    ratio = 1.0 + (a * at_a - b * at_b) / inside - shift * shift
    return inside, shift, min(1.0, max(1e-3, ratio))


def cut_all(mean: Array, sd: Array, lower: float, upper: float) -> tuple[Array, Array, Array]:
    """`cut` for arrays of means and standard deviations."""
    import numpy as np

    rows = [
        cut(m, s, lower, upper) for m, s in zip(mean.tolist(), sd.tolist(), strict=True)
    ]
    table = np.array(rows)
    return table[:, 0], table[:, 1], table[:, 2]
