"""What the units of the Vulkan kernels beside the chains compute, on the bench's processor.

Whole numbers and IEEE 754 basic operations are fixed by their standards and must agree to the bit;
functions and filtered texels must lie within bounds that the API's specification states.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from burnin.engine.device.recipes import pcg_array
from burnin.engine.device.reference import STEPS

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Words = NDArray[np.uint32]

LANES, WORDS, TURNS = 256, 4096, 32
TEXELS_SIDE = 256
FILTERED_WITHIN = 1.5 / 255.0
"""Half way is held exactly by a filter with the 4 bits that Vulkan asks of it at least
(subTexelPrecisionBits); it may cut off a step of eight bits after each direction: an estimate."""


def _begun(index: Words, seed: int) -> Words:
    import numpy as np

    return pcg_array(index ^ np.uint32(seed & 0xFFFFFFFF))


def workgroup_memory(index: Words, seed: int) -> Words:
    """Results of whole workgroups, 256 in a row: words passed on through 16 KiB of theirs."""
    import numpy as np

    x = _begun(index, seed).reshape(-1, LANES)
    groups, lane = np.arange(len(x))[:, None], np.arange(LANES)
    words = np.empty((len(x), WORDS), np.uint32)
    for k in range(WORDS // LANES):
        words[:, k * LANES + lane] = pcg_array(x + np.uint32(k))
    for turn in range(TURNS):
        for k in range(WORDS // LANES):
            x = pcg_array(x ^ words[:, (lane * 17 + turn * 271 + k * 1103) % WORDS])
        words[groups, (lane + turn * 37) % LANES + LANES * (turn % (WORDS // LANES))] = x
    return x.reshape(-1)


def atomics(index: Words, seed: int) -> Words:
    """Results of whole workgroups: sums, exclusive ors and maxima in words that they share."""
    import numpy as np

    x = _begun(index, seed).reshape(-1, LANES)
    groups, words = np.arange(len(x))[:, None], x.copy()
    for turn in range(TURNS):
        place = ((x >> np.uint32(8)) % np.uint32(LANES)).astype(np.intp)
        (np.add, np.bitwise_xor, np.maximum)[turn % 3].at(words, (groups, place), x)
        x = pcg_array(x ^ words)
    return x.reshape(-1)


def int8_dot(index: Words, seed: int) -> Words:
    """Products of four bytes each, signed and unsigned, summed modulo 2^32."""
    import numpy as np

    x, total = _begun(index, seed), np.zeros(len(index), np.uint32)
    for step in range(STEPS):
        other = x * np.uint32(2654435769) + np.uint32(step)
        signed = (_bytes(x, np.int8) * _bytes(other, np.int8)).sum(axis=1).astype(np.uint32)
        total = total + signed + (_bytes(x, np.uint8) * _bytes(total, np.uint8)).sum(
            axis=1
        ).astype(np.uint32)
        x = x * np.uint32(747796405) + total
    return total ^ x


def _bytes(words: Words, kind: Any) -> Any:
    import numpy as np

    return np.ascontiguousarray(words).view(kind).reshape(-1, 4).astype(np.int64)


def half_chain(index: Words, seed: int) -> Words:
    """Two sequences modulo 32, whose every step half precision holds exactly."""
    import numpy as np

    mixed = _begun(index, seed)
    state = np.stack([mixed & np.uint32(31), (mixed >> np.uint32(5)) & np.uint32(31)])
    factor, more = np.array([[29], [21]], np.uint32), np.array([[13], [7]], np.uint32)
    for _ in range(STEPS // 32):
        total = np.zeros_like(state)
        for _ in range(32):
            state = (state * factor + more) % np.uint32(32)
            total = total + state
        mixed = pcg_array(mixed ^ (total[0] | (total[1] << np.uint32(16))))
    return mixed


def double_chain(index: Words, seed: int) -> Words:
    """A sequence modulo 2^24 whose every step double precision holds exactly."""
    import numpy as np

    state = _begun(index, seed).astype(np.uint64) & np.uint64(0xFFFFFF)
    total = np.zeros_like(state)
    for _ in range(STEPS):
        state = (state * np.uint64(22695477) + np.uint64(12345)) & np.uint64(0xFFFFFF)
        total = total + state
    low, high = total & np.uint64(0xFFFFFF), (total >> np.uint64(24)) << np.uint64(24)
    return np.asarray((low ^ high ^ state) & np.uint64(0xFFFFFFFF), np.uint32)


def outside_functions(index: Words, got: Words, seed: int) -> int:
    """How many single values lie outside the bounds of the shading language.

    W3C WGSL, accuracy of built-in functions (as Vulkan's appendix on precision of operations):
    sin and cos 2^-11 within [-pi, pi]; exp2 3 + 2 |x| ULP; log2 3 ULP, 2^-21 within [0.5, 2];
    inverseSqrt 2 ULP; sqrt as 1 / inverseSqrt (its division 2.5 ULP more).
    """
    import numpy as np

    def bounds(right: Any, x: Any, kind: int) -> Any:
        if kind < 2:
            return 2.0**-11
        if kind == 2:
            return (3.0 + 2.0 * abs(x)) * _ulp(right)
        if kind == 3:
            return np.where((x >= 0.5) & (x <= 2.0), 2.0**-21, 3.0 * _ulp(right))
        return (2.0 if kind == 4 else 4.5) * _ulp(right)

    return _outside(index, got, seed, bounds)


def outside_functions_cuda(index: Words, got: Words, seed: int) -> int:
    """The same against the CUDA programming guide, mathematical functions, largest error in ULP.

    sinf 2, cosf 2, exp2f 2, log2f 1, rsqrtf 2, sqrtf 0 (from memory); half a step of the value
    that is held against is its own rounding.
    """
    ulps = (2.0, 2.0, 2.0, 1.0, 2.0, 0.0)
    return _outside(index, got, seed, lambda right, _, kind: (ulps[kind] + 0.5) * _ulp(right))


def _outside(
    index: Words, got: Words, seed: int, bounds: Callable[[Any, Any, int], Any]
) -> int:
    import numpy as np

    single = index[index % 2 == 0]
    # products before each sum are exact, or fused with it: arguments are right to the bit
    x = (_begun(single, seed) >> np.uint32(8)).astype(np.float64) * 2.0**-24
    angle, power, wide = (
        (x * factor + more).astype(np.float32).astype(np.float64)
        for factor, more in ((6.25, -3.125), (16.0, -8.0), (64.0, 0.015625))
    )
    kinds: tuple[tuple[Any, Callable[[Any], Any]], ...] = (
        (angle, np.sin), (angle, np.cos), (power, np.exp2), (wide, np.log2),
        (wide, lambda value: 1.0 / np.sqrt(value)), (wide, np.sqrt),
    )  # fmt: skip
    kind = (single >> np.uint32(1)) % np.uint32(len(kinds))
    values, outside = got[index % 2 == 0].view(np.float32).astype(np.float64), 0
    for number, (argument, function) in enumerate(kinds):
        right = function(argument)
        far = ~(abs(values - right) <= bounds(right, argument, number))  # no number is far, too
        outside += int(np.count_nonzero(far & (kind == number)))
    return outside


def _ulp(value: Any) -> Any:
    import numpy as np

    return np.spacing(abs(value).astype(np.float32)).astype(np.float64)


def texels(seed: int) -> NDArray[np.uint8]:
    """The texture that is read: 256 x 256 texels of four bytes."""
    import numpy as np

    words = _begun(np.arange(TEXELS_SIDE**2, dtype=np.uint32), seed)
    return words.view(np.uint8).reshape(TEXELS_SIDE, TEXELS_SIDE, 4)


def outside_texture(index: Words, got: Words, seed: int) -> int:
    """Wrong results of texture reads: paths exactly, means of four texels within their bound."""
    import numpy as np

    side = np.uint32(TEXELS_SIDE)
    x, table = _begun(index, seed), texels(seed)
    flat = table.reshape(-1, 4).copy().view(np.uint32).reshape(-1)
    column, row = (x >> np.uint32(8)) % (side - 1), (x >> np.uint32(20)) % (side - 1)
    red = table[:, :, 0].astype(np.float64) / 255.0
    corners = (red[row + down, column + right] for down in (0, 1) for right in (0, 1))
    mean = sum(corners) / 4.0
    for _ in range(64):
        place = x >> np.uint32(8)
        x = pcg_array(x ^ flat[(place // side) % side * side + place % side])
    odd = index % 2 == 1
    filtered = got[~odd].view(np.float32).astype(np.float64)
    near = abs(filtered - mean[~odd]) <= FILTERED_WITHIN
    return int(np.count_nonzero(got[odd] != x[odd]) + np.count_nonzero(~near))


def drawn_word(index: Words, seed: int, layer: int) -> Words:
    """The word that a layer draws at a pixel."""
    import numpy as np

    x = pcg_array(index ^ np.uint32(seed & 0xFFFFFFFF) ^ np.uint32(layer << 24))
    for step in range(16):
        x = pcg_array(x + np.uint32(step))
    return x


def blended(index: Words, seed: int, layers: int) -> Words:
    """What is left of the four sums that the layers add at a pixel."""
    import numpy as np

    sums = np.zeros((4, len(index)), np.uint32)
    for layer in range(layers):
        word = drawn_word(index, seed, layer)
        for channel in range(4):
            sums[channel] += (word >> np.uint32(4 * channel)) & np.uint32(15)
    low = sums[0] | (sums[1] << np.uint32(16))
    return np.asarray(pcg_array(low) ^ (sums[2] | (sums[3] << np.uint32(16))), np.uint32)
