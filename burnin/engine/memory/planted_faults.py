"""Disturbing words between write and check, to prove that the check finds them."""

from __future__ import annotations

from burnin.core.errors import EngineError
from burnin.engine.device.area import Area
from burnin.engine.job import Plant
from burnin.engine.meanings import EngineReason


def disturb(area: Area, plant: Plant) -> None:
    """Change the words that `plant` names; raises EngineError when it lies outside the area."""
    import numpy as np

    if plant.address_bytes % 4 or plant.stride_bytes % 4 or plant.stride_bytes <= 0:
        raise EngineError(
            EngineReason.PLANT_NOT_WHOLE_WORDS(
                address_bytes=plant.address_bytes, stride_bytes=plant.stride_bytes
            )
        )
    first, stride = plant.address_bytes // 4, plant.stride_bytes // 4
    reach = (plant.count - 1) * stride + 1
    if plant.count < 1 or first < 0 or first + reach > area.words:
        raise EngineError(
            EngineReason.PLANT_OUTSIDE(
                words_planted=plant.count,
                address_bytes=plant.address_bytes,
                area_bytes=area.words * 4,
            )
        )
    content = area.read(first, reach).copy()
    if plant.copy_from_bytes >= 0:
        content[0] = area.read(plant.copy_from_bytes // 4, 1)[0]
    disturbed = content[::stride] & np.uint32(~plant.clear_bits & 0xFFFFFFFF)
    content[::stride] = (disturbed | np.uint32(plant.set_bits)) ^ np.uint32(plant.flip_bits)
    area.overwrite(first, content)
