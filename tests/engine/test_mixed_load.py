"""The Vulkan load that works arithmetic and memory at once, and which of its mixes is kept."""

from __future__ import annotations

import struct
import time

import numpy as np
import pytest

from burnin.core.errors import EngineError
from burnin.engine.compute.mix_trial import MixTrial
from burnin.engine.device.device import Device
from burnin.engine.job import ArithmeticLoad, LoadResult, WorkEvent
from burnin.engine.meanings import EngineReason
from burnin.engine.process.started import started
from burnin.engine.vulkan.device import VulkanDevice
from burnin.engine.vulkan.gpu import Gpu
from burnin.engine.vulkan.mixed import MixedSize, VulkanMixed, mixed_kernels
from burnin.engine.vulkan.mixes import MIXES
from burnin.engine.work import LoadShare

NUMBERS = range(len(MIXES))


@pytest.fixture
def gpu(device: Device) -> Gpu:
    assert isinstance(device, VulkanDevice)
    return device._gpu


def mixed(gpu: Gpu) -> VulkanMixed:
    kernels = mixed_kernels(gpu)
    assert kernels is not None
    return VulkanMixed(gpu, kernels, MixedSize(16, 1, 1 << 20))


@pytest.mark.software_vulkan
@pytest.mark.parametrize("half", [True, False])
def test_the_same_work_gives_the_same_words_and_the_processors(
    gpu: Gpu, half: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    if not half:
        monkeypatch.setattr(gpu, "features", gpu.features - {"shader-f16"})
    unit = mixed(gpu)
    for number in NUMBERS:
        unit.use(number)
        unit.work(3).finish()
        unit.work(2).finish()
    assert unit.wrong_results == 0
    assert unit.reference_failures() == 0
    unit.release()


@pytest.mark.software_vulkan
@pytest.mark.parametrize("number", NUMBERS)
def test_another_result_is_found(gpu: Gpu, number: int) -> None:
    unit = mixed(gpu)
    unit.use(number)
    place = number * 512 * 8 + 77 * 8  # a streaming workgroup's lane 77
    (bits,) = struct.unpack("<I", gpu.download(unit.expected, place, 4))
    gpu.upload(unit.expected, struct.pack("<I", bits ^ (1 << 20)), place)
    unit.work(2).finish()
    assert unit.wrong_results == -(-32 // MIXES[number].stream_of)
    unit.release()


@pytest.mark.software_vulkan
def test_a_flipped_bit_in_card_memory_is_found_when_it_is_moved(gpu: Gpu) -> None:
    unit = mixed(gpu)
    raw = np.frombuffer(gpu.download(unit.source, 0, unit.source.size), np.uint32)
    gpu.upload(unit.source, struct.pack("<I", int(raw[1000]) ^ 8), 4000)
    unit.work(4).finish()  # 32 streaming workgroups and 16 pieces: each is moved twice
    assert unit.wrong_results == 2
    unit.release()


@pytest.mark.software_vulkan
def test_a_load_whose_results_are_wrong_ends(device: Device, gpu: Gpu) -> None:
    class WrongDevice(VulkanDevice):
        """Its load expects another first result."""

        def __init__(self) -> None:
            self._gpu = gpu

        def arithmetic(self) -> VulkanMixed:
            unit = mixed(gpu)
            gpu.upload(unit.expected, bytes(8), 0)
            return unit

    work = started(WrongDevice(), ArithmeticLoad(), LoadShare(1.0), lambda _: None)
    with pytest.raises(EngineError) as ended:
        for _ in work.slices():
            pass
    assert ended.value.reason.means(EngineReason.WRONG_UNDER_LOAD)
    work.release()


@pytest.mark.software_vulkan
def test_a_load_is_worked_and_told(device: Device) -> None:
    events: list[WorkEvent] = []
    share = LoadShare(1.0)
    share.power_w = 100.0
    work = started(device, ArithmeticLoad(), share, events.append)
    slices = work.slices()
    for _ in range(20):
        time.sleep(next(slices))
    slices.close()  # type: ignore[attr-defined]
    result = work.result()
    assert isinstance(result, LoadResult)
    assert result.operations > 0
    work.release()


def tried(watts: list[float], *, step_s: float = 0.1, power: bool = True) -> tuple[int, float]:
    """The mix that is kept where each draws these watts, and how long it took to say."""
    trial, now_s, mix = MixTrial(len(watts)), 50.0, 0
    while not trial.done and now_s < 80.0:
        mix = trial.see(now_s, full=True, power_w=watts[mix] if power else None)
        now_s += step_s
    return mix, now_s - 50.0


def test_the_mix_that_draws_most_is_kept_within_ten_seconds() -> None:
    for best in NUMBERS:
        watts = [500.0 + number for number in NUMBERS]
        watts[best] = 600.0
        mix, took_s = tried(watts)
        assert mix == best
        assert took_s < 10.0


def test_without_a_power_reading_the_first_mix_stays() -> None:
    mix, _ = tried([1.0, 2.0], power=False)
    assert mix == 0


def test_nothing_is_tried_while_less_than_all_is_asked_for() -> None:
    trial = MixTrial(3)
    for step in range(1000):
        assert trial.see(step * 0.1, full=False, power_w=300.0) == 0
    assert not trial.done


def test_a_mix_that_was_interrupted_is_tried_anew() -> None:
    trial = MixTrial(2)
    for step in range(12):
        trial.see(step * 0.1, full=True, power_w=900.0)
    trial.see(1.25, full=False, power_w=900.0)
    now_s, mix = 2.0, 0
    while not trial.done:
        mix = trial.see(now_s, full=True, power_w=(500.0, 600.0)[mix])
        now_s += 0.1
    assert mix == 1
