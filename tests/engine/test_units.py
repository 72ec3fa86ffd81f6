"""What the units' results are held against, and what becomes of a unit that a card has not."""

from __future__ import annotations

from typing import cast

import numpy as np
import pytest

from burnin.core.errors import EngineError
from burnin.engine.device import reference_units as right
from burnin.engine.device.device import Device
from burnin.engine.device.recipes import pcg
from burnin.engine.vulkan.device import VulkanDevice
from burnin.engine.vulkan.unit_table import units_of
from burnin.engine.vulkan.vulkan_errors import VulkanReason

MASK = 0xFFFFFFFF


def test_a_byte_product_is_that_of_whole_numbers() -> None:
    """Plain loops over signed and unsigned bytes, for one result."""

    def signed(word: int, k: int) -> int:
        byte = word >> 8 * k & 255
        return byte - 256 if byte > 127 else byte

    x, total = pcg(5 ^ 9), 0
    for step in range(256):
        other = (x * 2654435769 + step) & MASK
        dot = sum(signed(x, k) * signed(other, k) for k in range(4))
        plain = sum((x >> 8 * k & 255) * (total >> 8 * k & 255) for k in range(4))
        total = (total + dot + plain) & MASK
        x = (x * 747796405 + total) & MASK
    assert int(right.int8_dot(np.array([5], np.uint32), 9)[0]) == total ^ x


def test_half_precision_holds_every_step_of_its_chain() -> None:
    """numpy's binary16 goes the same way as the whole numbers do (IEEE 754-2019, 3.6)."""
    half = np.float16
    start = pcg(3)
    state = [half(start & 31), half(start >> 5 & 31)]
    mixed = start
    for _ in range(8):
        sums = [half(0), half(0)]
        for _ in range(32):
            for lane, (factor, more) in enumerate(((29, 13), (21, 7))):
                wide = half(half(state[lane] * half(factor)) + half(more))
                whole = half(np.floor(half(wide * half(1 / 32))))
                state[lane] = half(wide - half(whole * half(32)))
                sums[lane] = half(sums[lane] + state[lane])
        mixed = pcg(mixed ^ (int(sums[0]) | int(sums[1]) << 16))
    assert int(right.half_chain(np.array([3], np.uint32), 0)[0]) == mixed


@pytest.mark.parametrize("wrong", [np.float32("nan"), np.float32("inf"), np.float32(0.25)])
def test_a_value_outside_its_bounds_is_counted(wrong: np.float32) -> None:
    index = np.arange(0, 120, dtype=np.uint32)
    x = (right._begun(index, 1) >> np.uint32(8)).astype(np.float64) * 2.0**-24
    sound = [
        np.sin(x * 6.25 - 3.125), np.cos(x * 6.25 - 3.125), np.exp2(x * 16 - 8),
        np.log2(x * 64 + 0.015625), (x * 64 + 0.015625) ** -0.5, (x * 64 + 0.015625) ** 0.5,
    ]  # fmt: skip
    got = np.choose((index >> np.uint32(1)) % 6, sound).astype(np.float32).view(np.uint32)
    assert right.outside_functions(index, got, 1) == 0
    got[[2, 10]] = np.array([wrong]).view(np.uint32)
    assert right.outside_functions(index, got, 1) == 2


def test_a_pixel_of_one_layer_less_is_another_one() -> None:
    index = np.arange(500, dtype=np.uint32)
    assert np.all(right.blended(index, 4, 64) != right.blended(index, 4, 63))
    assert np.all(right.drawn_word(index, 4, 3) != right.drawn_word(index, 4, 2))


@pytest.mark.software_vulkan
def test_what_an_adapter_lacks_is_named_with_its_reason(
    device: Device, monkeypatch: pytest.MonkeyPatch
) -> None:
    gpu = cast(VulkanDevice, device)._gpu
    monkeypatch.setattr(gpu, "features", gpu.features - {"shader-f64"})
    found = units_of(gpu, 1 << 10, 1, software=True)
    assert set(found.not_offered) == {"fp64"}
    assert found.not_offered["fp64"].means(VulkanReason.FEATURE_MISSING)
    assert "fp64" not in {unit.name for unit in found.units}
    for unit in found.units:
        unit.release()


@pytest.mark.software_vulkan
def test_a_unit_that_the_driver_cannot_make_is_owed_and_not_passed_over(
    device: Device, monkeypatch: pytest.MonkeyPatch
) -> None:
    gpu = cast(VulkanDevice, device)._gpu
    whole = gpu.pipeline

    def broken(module: object, entry: str, *rest: object) -> object:
        if entry == "integer_chain":
            raise EngineError(VulkanReason.PIPELINE_UNUSABLE(words="no"))
        return whole(module, entry, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(gpu, "pipeline", broken)
    found = units_of(gpu, 1 << 10, 1, software=True)
    assert (set(found.not_made), dict(found.not_offered)) == ({"integer"}, {})
    for unit in found.units:
        unit.release()
