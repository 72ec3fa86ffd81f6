from __future__ import annotations

import numpy as np
import pytest

from burnin.core.errors import EngineError
from burnin.engine.device import reference
from burnin.engine.device.recipes import pcg
from burnin.engine.job import ComputeResult, RepeatedCompute, ResultPlant
from burnin.engine.meanings import EngineReason
from tests.engine.conftest import RunJob

UNITS = (
    "integer", "fp32", "fp32 rounded", "fp16", "fp64", "int8_dot", "workgroup_memory", "atomics",
    "functions", "texture", "raster", "blend",
)  # fmt: skip



@pytest.mark.software_vulkan
def test_repeats_equal_the_first_and_the_processor(run_job: RunJob) -> None:
    result, _ = run_job(RepeatedCompute(seconds=0.4, seed=7))
    assert isinstance(result, ComputeResult)
    assert result.mismatches == 0
    assert result.reference_failures == dict.fromkeys(set(UNITS) - {"fp32 rounded"}, 0)
    assert set(result.results) == set(UNITS)
    assert result.not_offered == {}
    assert all(count > 0 for count in result.results.values())
    assert result.operations > 0


@pytest.mark.software_vulkan
@pytest.mark.parametrize("unit", UNITS)
def test_one_flipped_bit_is_found_and_located(run_job: RunJob, unit: str) -> None:
    plant = ResultPlant(unit, index=321, repeat=2, flip_bits=1 << 30)
    result, _ = run_job(RepeatedCompute(seconds=0.1, plants=(plant,)))
    assert result.mismatches == 1
    (found,) = result.examples
    assert (found.unit, found.index, found.expected ^ found.got) == (unit, 321, 1 << 30)
    assert found.repeat <= 2


@pytest.mark.software_vulkan
@pytest.mark.parametrize(
    "plant", [ResultPlant("matrix", 0), ResultPlant("fp32", 1 << 30), ResultPlant("fp32", 0, 1)]
)
def test_a_plant_that_meets_no_result_is_refused(run_job: RunJob, plant: ResultPlant) -> None:
    with pytest.raises(EngineError) as refused:
        run_job(RepeatedCompute(seconds=0.1, plants=(plant,)))
    assert refused.value.reason.means(EngineReason.NO_RESULT_TO_DISTURB)
    assert refused.value.reason["unit"] == plant.unit


def test_the_exact_chain_is_exact() -> None:
    """The same sequence in whole numbers: no step was rounded."""
    index = np.arange(50, dtype=np.uint32)
    got = reference.exact_chain(index, seed=3)
    for k in range(50):
        state, total = pcg(k ^ 3) & 4095, 0
        for _ in range(reference.STEPS):
            state = (state * 2029 + 1013) % 4096
            total += state
        assert total < 2**24
        assert int(got[k]) == int(np.float32(total).view(np.uint32)) ^ state
