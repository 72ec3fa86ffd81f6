"""Every unit that a Vulkan adapter may offer, and which of them this one does."""

from __future__ import annotations

from contextlib import ExitStack

from burnin.core.errors import DeviceLost, EngineError
from burnin.core.meaning import Reason
from burnin.engine.device import reference_units as right
from burnin.engine.device.area import OutOfCardMemory
from burnin.engine.device.preparing import StoppedBeforeLoad
from burnin.engine.device.reference import STEPS
from burnin.engine.device.units import ComputeUnit, UnitsFound
from burnin.engine.vulkan.gpu import Gpu
from burnin.engine.vulkan.picture import BLEND, RASTER, drawn
from burnin.engine.vulkan.repeated import CHAINS, Beside, Unit, VulkanRepeated
from burnin.engine.vulkan.vulkan_errors import VulkanReason

TURNS = right.TURNS
_HALF_SLOWER = 16
"""A processor that plays a card converts each half: its slices would be long."""
HALF = Unit(
    "fp16", ("half",), "half_chain", 8 * STEPS, right.half_chain,
    features=frozenset({"shader-f16"}), head="enable f16;\n",
)  # fmt: skip
DOUBLE = Unit(
    "fp64", ("double",), "double_chain", 6 * STEPS, right.double_chain,
    features=frozenset({"shader-f64"}),
)  # fmt: skip
DOT = Unit("int8_dot", ("dot",), "int8_dot", 18 * STEPS, right.int8_dot)
WORKGROUP = Unit(
    "workgroup_memory", ("workgroup",), "workgroup_memory", 16 * 9 * TURNS,
    right.workgroup_memory, in_groups=True,
)  # fmt: skip
ATOMICS = Unit("atomics", ("workgroup",), "atomics", 10 * TURNS, right.atomics, in_groups=True)
FUNCTIONS = Unit(
    "functions", ("functions",), "functions", STEPS // 2, outside=right.outside_functions
)
TEXTURE = Unit("texture", ("texture",), "texture_reads", 32, outside=right.outside_texture)

KERNELS = (*CHAINS, HALF, DOUBLE, DOT, WORKGROUP, ATOMICS, FUNCTIONS)


def units_of(
    gpu: Gpu, results: int, seed: int, *, software: bool
) -> UnitsFound:
    """The units that the adapter offers, and by name why others are not there.

    Raises DeviceLost, OutOfCardMemory and StoppedBeforeLoad; what was taken is given back then.
    """
    units: list[ComputeUnit] = []
    missing: dict[str, Reason] = {}
    not_made: dict[str, Reason] = {}
    with ExitStack() as taken:
        for unit in (*KERNELS, TEXTURE, RASTER, BLEND):
            lacking = sorted(unit.features - gpu.features)
            if lacking:
                missing[unit.name] = VulkanReason.FEATURE_MISSING(feature=lacking[0])
                continue
            try:
                made = _made(gpu, unit, results, seed, software=software)
            except (DeviceLost, OutOfCardMemory, StoppedBeforeLoad):
                raise
            except EngineError as error:  # a driver that makes no kernel of it
                not_made[unit.name] = error.reason
                continue
            taken.callback(made.release)
            units.append(made)
        taken.pop_all()
    return UnitsFound(tuple(units), missing, not_made=not_made)


def _made(gpu: Gpu, unit: Unit, results: int, seed: int, *, software: bool) -> VulkanRepeated:
    if software and unit is HALF:
        results //= _HALF_SLOWER
    if unit is TEXTURE:
        return VulkanRepeated(gpu, unit, results, seed, _texture(gpu, seed))
    if unit in (RASTER, BLEND):
        return drawn(gpu, unit, results, seed, software=software)
    return VulkanRepeated(gpu, unit, results, seed)


def _texture(gpu: Gpu, seed: int) -> Beside:
    side = right.TEXELS_SIDE
    texture = gpu.texture(side, "rgba8unorm", "TEXTURE_BINDING", "COPY_DST")
    gpu.fill(texture, right.texels(seed).tobytes(), side)
    return Beside(
        ("texture", "sampler"), (texture.create_view(), gpu.sampler()), release=texture.destroy
    )
