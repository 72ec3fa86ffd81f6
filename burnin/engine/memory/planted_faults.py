"""Disturbing words between write and check, to prove that the check finds them."""

from __future__ import annotations

from burnin.core.errors import EngineError
from burnin.engine.device.device import Area
from burnin.engine.job import Plant


def disturb(area: Area, plant: Plant) -> None:
    """Change the words that `plant` names; raises EngineError when it lies outside the area."""
    import numpy as np

    if plant.address_bytes % 4 or plant.stride_bytes % 4 or plant.stride_bytes <= 0:
        raise EngineError(f"a plant's address and stride must be whole words: {plant}")
    first, stride = plant.address_bytes // 4, plant.stride_bytes // 4
    reach = (plant.count - 1) * stride + 1
    if plant.count < 1 or first < 0 or first + reach > area.words:
        raise EngineError(
            f"a plant of {plant.count} words from byte {plant.address_bytes} on lies outside the "
            f"test area of {area.words * 4} bytes"
        )
    content = area.read(first, reach).copy()
    if plant.copy_from_bytes >= 0:
        content[0] = area.read(plant.copy_from_bytes // 4, 1)[0]
    disturbed = content[::stride] & np.uint32(~plant.clear_bits & 0xFFFFFFFF)
    content[::stride] = (disturbed | np.uint32(plant.set_bits)) ^ np.uint32(plant.flip_bits)
    area.overwrite(first, content)
