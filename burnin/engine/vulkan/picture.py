"""Rasterisation and blending: a picture is drawn, and each of its pixels is one result."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import Any

from burnin.engine.device import reference_units as right
from burnin.engine.vulkan.gpu import Gpu
from burnin.engine.vulkan.repeated import Beside, Unit, VulkanRepeated

CELLS = 32
CORNERS = 6 * CELLS * CELLS
LAYERS, SOFTWARE_LAYERS = 8, 4
"""Few: a picture is drawn whole, and its slice is to be short on a slow card, too. (A half would
hold sums of whole numbers up to 15 over 136 layers exactly.)"""

RASTER = Unit("raster", ("drawn_hashed",), "taken", 16 * 9)
BLEND = Unit("blend", ("drawn_added",), "taken", 16 * 9)
_FORMATS = {
    "raster": ("r32uint", "hashed", "whole"),
    "blend": ("rgba16float", "added", "unfiltered"),
}
_ADDS = {"operation": "add", "src_factor": "one", "dst_factor": "one"}


def drawn(gpu: Gpu, unit: Unit, results: int, seed: int, *, software: bool) -> VulkanRepeated:
    """A picture of `results` pixels (a power of four), drawn in layers; raises EngineError."""
    side = int(results**0.5)
    layers = SOFTWARE_LAYERS if software else LAYERS
    form, shader, read_as = _FORMATS[unit.name]
    layout = gpu.layout(("uniform",), draws=True)
    module = gpu.module("repeating", "picture")
    target: dict[str, Any] = {"format": form}
    if unit is BLEND:
        target["blend"] = {"color": _ADDS, "alpha": _ADDS}
    pipeline = gpu.drawing(
        module, ("corners", shader), layout, target, {"side": float(side)}
    )
    picture = gpu.texture(side, form, "RENDER_ATTACHMENT", "TEXTURE_BINDING")
    view = picture.create_view()
    told: dict[int, Any] = {}

    def draw(encoder: Any, params: Any, size: int) -> None:
        group = told.get(id(params)) or told.setdefault(
            id(params), gpu.group(layout, ((params, size),))
        )
        work = encoder.begin_render_pass(color_attachments=[
            {"view": view, "load_op": "clear", "store_op": "store", "clear_value": (0, 0, 0, 0)}
        ])  # fmt: skip
        work.set_pipeline(pipeline)
        work.set_bind_group(0, group, [0])
        work.draw(CORNERS, layers)
        work.end()

    expected = (
        partial(right.drawn_word, layer=layers - 1) if unit is RASTER
        else partial(right.blended, layers=layers)
    )  # fmt: skip
    known = replace(unit, operations=unit.operations * layers, right=expected)
    return VulkanRepeated(
        gpu, known, side * side, seed, Beside((read_as,), (view,), draw, picture.destroy)
    )
