"""The repeatable chains of the kernels, computed on the bench's processor.

Integer: 256 rounds of the PCG hash. Exact fp32: a congruential sequence modulo 4,096 whose every
step is a whole number below 2^24, so IEEE 754 binary32 holds it without rounding (IEEE 754-2019,
3.3: 24 bits of precision).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from burnin.engine.device.recipes import pcg_array

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

STEPS = 256
GROUP = 256
"""Results of a workgroup."""
REFERENCE_SAMPLE = 4096


def sample(results: int, *, in_groups: bool) -> NDArray[np.uint32]:
    """Indices of evenly spread results, odd and even ones; or of whole workgroups in a row."""
    import numpy as np

    if in_groups:
        groups = results // GROUP
        taken = np.arange(0, groups, max(1, groups * GROUP // REFERENCE_SAMPLE))
        index = taken[:, None] * GROUP + np.arange(GROUP)
        return index.reshape(-1).astype(np.uint32)
    stride = max(1, results // REFERENCE_SAMPLE)
    # an odd stride meets every lane, and every kind of result
    return np.arange(0, results, stride | 1, dtype=np.uint32)


def integer_chain(index: NDArray[np.uint32], seed: int) -> NDArray[np.uint32]:
    """Results of the integer unit at these indices."""
    import numpy as np

    x = pcg_array(index ^ np.uint32(seed & 0xFFFFFFFF))
    for step in range(STEPS):
        x = pcg_array(x + np.uint32(step))
    return x


def exact_chain(index: NDArray[np.uint32], seed: int) -> NDArray[np.uint32]:
    """Results of the fp32 unit at these indices."""
    import numpy as np

    one = np.float32
    start = pcg_array(index ^ np.uint32(seed & 0xFFFFFFFF)) & np.uint32(4095)
    state = start.astype(np.float32)
    total = np.zeros_like(state)
    for _ in range(STEPS):
        wide = state * one(2029.0) + one(1013.0)
        state = wide - np.floor(wide * one(1 / 4096)) * one(4096.0)
        total = total + state
    return np.asarray(total.view(np.uint32) ^ state.astype(np.uint32), np.uint32)
