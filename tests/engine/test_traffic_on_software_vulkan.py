from __future__ import annotations

import struct
from typing import Any

import numpy as np
import pytest

from burnin.core.errors import DeviceLost, EngineError
from burnin.engine.device.area import OutOfCardMemory
from burnin.engine.device.device import Device
from burnin.engine.device.meanings import AreaReason, WorkTerm
from burnin.engine.device.patterns import recipe
from burnin.engine.device.recipes import words_of
from burnin.engine.job import LinkTraffic, Started, TrafficResult
from burnin.engine.meanings import EngineReason
from burnin.engine.vulkan.copier import PROBE_BLOCKS, fitting_block_bytes, host_block_bytes
from burnin.engine.vulkan.device import VulkanDevice
from burnin.engine.vulkan.gpu import CLOCK_FEATURES, Gpu
from burnin.engine.vulkan.host_copier import CARD_USES, HOST_RING, HOST_USES, LAG, HostCopier
from burnin.engine.vulkan.link_kernels import LinkKernels, Ring, Run
from burnin.engine.vulkan.link_slice import LinkSlice
from burnin.engine.vulkan.link_ways import COPIES, KERNELS, Way, crosses_link, ways_of
from burnin.engine.vulkan.staged_copier import StagedCopier
from burnin.report.languages.catalogue import catalogue
from tests.engine.conftest import RunJob

pytestmark = pytest.mark.software_vulkan

BLOCK = 1 << 18


@pytest.mark.parametrize(
    ("direction", "up", "down"),
    [("to_card", True, False), ("to_host", False, True), ("both", True, True)],
)
def test_every_byte_is_counted_in_its_direction_and_arrives(
    run_job: RunJob, direction: str, up: bool, down: bool
) -> None:
    result, events = run_job(LinkTraffic(seconds=0.2, direction=direction))
    assert isinstance(events[0], Started)
    told = catalogue("en").say(events[0].plan)
    way = direction.replace("_", " ")
    assert told.startswith(f"link traffic: {way}, ")
    assert told.endswith(", blocks of 1 MiB")
    assert isinstance(result, TrafficResult)
    assert result.wrong_words == 0
    assert (result.to_card_bytes > 0, result.to_host_bytes > 0) == (up, down)
    assert (result.to_card_gbs > 0, result.to_host_gbs > 0) == (up, down)


def test_an_unknown_direction_is_refused(run_job: RunJob) -> None:
    with pytest.raises(EngineError) as refused:
        run_job(LinkTraffic(seconds=0.1, direction="sideways"))
    assert refused.value.reason == EngineReason.UNKNOWN_DIRECTION(
        asked="sideways", known=("to_card", "to_host", "both")
    )


ALL_WAYS = [
    *(
        (direction, way)
        for direction in ("to_card", "to_host", "both")
        for way in ways_of(direction)
    ),
    *(("both", way) for way in (Way(False), Way(False, 7))),
]


def gpu_of(device: Device) -> Gpu:
    assert isinstance(device, VulkanDevice)
    return device._gpu


def flip(gpu: Gpu, ring: Ring, word: int) -> None:
    """Flip a bit of one word in the ring's memory."""
    (content,) = struct.unpack("<I", gpu.download(ring.buffer, word * 4, 4))
    gpu.upload(ring.buffer, struct.pack("<I", content ^ 0x40), word * 4)


@pytest.mark.parametrize(("direction", "way"), ALL_WAYS)
def test_blocks_arrive_by_every_way_however_many_a_slice_has(
    device: Device, direction: str, way: Way
) -> None:
    copier = HostCopier(gpu_of(device), direction, 3, BLOCK, (way,))
    queued = [copier.copy(blocks) for blocks in (1, 2)]
    for blocks in (4, 3, 4, 1):
        queued.append(copier.copy(blocks))
        moved = queued.pop(0).finish()
        assert moved.wrong_words == 0
        assert moved.seconds > 0.0
    copier.release()


@pytest.mark.parametrize(("direction", "way"), ALL_WAYS)
def test_a_bit_flipped_in_host_memory_is_found_once(
    device: Device, direction: str, way: Way
) -> None:
    gpu = gpu_of(device)
    copier = HostCopier(gpu, direction, 3, BLOCK, (way,))
    assert copier.copy(1).finish().wrong_words == 0
    for place in range(HOST_RING):
        flip(gpu, copier.host, place * BLOCK // 4 + 1234 + place)
    wrong = [copier.copy(1).finish().wrong_words for _ in range(HOST_RING)]
    # one after the other is read; where new blocks go down meanwhile, they take flips with them
    assert wrong == [1] * HOST_RING if direction == "to_card" else wrong[:LAG] == [1] * LAG
    copier.release()


def test_blocks_that_do_not_come_down_while_others_are_checked_are_found(
    device: Device, monkeypatch: pytest.MonkeyPatch
) -> None:
    """All ways are tried on the same memory: blocks that one left are not taken for new ones."""
    copier = HostCopier(gpu_of(device), "both", 3, BLOCK)
    monkeypatch.setattr(LinkSlice, "check_and_fill", lambda work, up, _down: work.check(up))
    wrong = [copier.copy(LAG).finish().wrong_words for _ in range(4)]
    assert wrong == [0, *[LAG * BLOCK // 4] * 3]
    copier.release()


@pytest.mark.parametrize("uses", [HOST_USES, CARD_USES])
def test_what_was_written_is_read_back_and_a_flip_in_between_is_found(
    device: Device, uses: tuple[str, ...]
) -> None:
    gpu = gpu_of(device)
    kernels = LinkKernels(gpu, recipe("pseudo_random", 0, 5))
    slot = kernels.slot()
    ring = Ring(gpu.buffer(3 * BLOCK, *uses), 3, BLOCK)
    far = Run(ring, 2**31 - 1, 2)  # past the ring's end, and past 2^32 words of the stream
    filled = LinkSlice(gpu, kernels, slot)
    filled.fill(far)
    filled.submit()
    assert filled.finish().wrong_words == 0
    flip(gpu, ring, ring.offset_bytes(far.number) // 4)
    flip(gpu, ring, ring.offset_bytes(far.number + 1) // 4 + BLOCK // 4 - 1)
    checked = LinkSlice(gpu, kernels, slot, 7)
    checked.check(far)
    checked.submit()
    assert checked.finish().wrong_words == 2
    ring.buffer.destroy()
    slot.release()


def test_the_kernels_write_the_words_of_the_recipe(device: Device) -> None:
    gpu, rule = gpu_of(device), recipe("pseudo_random", 0, 5)
    kernels = LinkKernels(gpu, rule)
    slot, ring = kernels.slot(), Ring(gpu.buffer(3 * BLOCK, *HOST_USES), 3, BLOCK)
    number = 2**34 // BLOCK - 1
    filled = LinkSlice(gpu, kernels, slot)
    filled.fill(Run(ring, number, 2))
    filled.submit()
    filled.finish()
    for block in (number, number + 1):
        raw = gpu.download(ring.buffer, ring.offset_bytes(block), BLOCK)
        first = block * (BLOCK // 4)
        expected = words_of(rule, np.arange(first, first + BLOCK // 4, dtype=np.uint64))
        assert np.array_equal(np.frombuffer(raw, np.uint32), expected)
    ring.buffer.destroy()
    slot.release()


@pytest.mark.parametrize("direction", ["to_card", "to_host"])
def test_a_copy_that_does_not_happen_is_found(
    device: Device, direction: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    copier = HostCopier(gpu_of(device), direction, 3, BLOCK, (COPIES,))
    assert copier.copy(2).finish().wrong_words == 0
    monkeypatch.setattr(LinkSlice, "copy", lambda *_: None)
    if direction == "to_host":  # what comes down is read back LAG blocks later
        copier.copy(LAG).finish()
    assert copier.copy(2).finish().wrong_words == 2 * BLOCK // 4
    copier.release()


def test_words_wrong_in_the_trial_are_told(device: Device, monkeypatch: pytest.MonkeyPatch) -> None:
    with monkeypatch.context() as broken:
        broken.setattr(LinkSlice, "copy", lambda *_: None)
        copier = HostCopier(gpu_of(device), "to_card", 3, BLOCK, (COPIES,))
    assert copier.copy(1).finish().wrong_words > 0
    assert copier.copy(1).finish().wrong_words == 0
    copier.release()


def test_a_card_without_a_clock_is_timed_by_the_bench(
    device: Device, monkeypatch: pytest.MonkeyPatch
) -> None:
    gpu = gpu_of(device)
    monkeypatch.setattr(gpu, "features", gpu.features - CLOCK_FEATURES)
    copier = HostCopier(gpu, "both", 3, BLOCK)
    moved = copier.copy(2).finish()
    assert (moved.to_card_bytes, moved.to_host_bytes) == (2 * BLOCK, 2 * BLOCK)
    assert moved.wrong_words == 0
    assert moved.seconds > 0.0
    copier.release()


@pytest.mark.parametrize("direction", ["to_card", "to_host", "both"])
def test_an_adapter_whose_kernels_cannot_reach_the_bench_copies_staged_and_says_so(
    device: Device, direction: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    gpu = gpu_of(device)
    monkeypatch.setattr(gpu, "features", gpu.features - {"mappable-primary-buffers"})
    copier = device.copier(direction, 3)
    assert copier.blocks == WorkTerm.STAGED_BLOCKS(mib=1)
    assert "does not reach the link's speed" in catalogue("en").say(copier.blocks)
    assert copier.copy(2).finish().wrong_words == 0
    copier.release()


@pytest.mark.parametrize(
    ("gbs", "mib"),
    [(0.2, 1), (6.5, 8), (13.0, 16), (25.6, 32), (51.2, 64), (52.5, 64), (110.0, 64)],
)
def test_a_block_lasts_about_a_millisecond_and_so_does_what_finds_that_out(
    device: Device, gbs: float, mib: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a link of this rate and a card that keeps 36 MiB of the bench's memory in its cache."""
    lasted_s: list[float] = []

    def crossing_s(_gpu: object, _kernels: object, block: int, _warm_s: float) -> float:
        cached = HOST_RING * block <= 36 * 2**20
        lasted_s.append(block / (1e12 if cached else gbs * 1e9))
        return lasted_s[-1]

    gpu = gpu_of(device)
    monkeypatch.setattr(gpu, "largest_buffer_bytes", 2**31)
    monkeypatch.setattr("burnin.engine.vulkan.copier._crossing_s", crossing_s)
    assert fitting_block_bytes(gpu, 1) == mib * 2**20
    assert gbs < 1.0 or max(lasted_s) * PROBE_BLOCKS < 0.004


def test_a_card_without_room_for_a_larger_block_is_given_a_smaller_one(
    device: Device, monkeypatch: pytest.MonkeyPatch
) -> None:
    def crossing_s(_gpu: object, _kernels: object, block: int, _warm_s: float) -> float:
        if block > 2**23:
            raise OutOfCardMemory(AreaReason.WRONG_SHARE(share=0.0))
        return block / 51e9

    gpu = gpu_of(device)
    monkeypatch.setattr(gpu, "largest_buffer_bytes", 2**31)
    monkeypatch.setattr("burnin.engine.vulkan.copier._crossing_s", crossing_s)
    assert fitting_block_bytes(gpu, 1) == 2**25
    monkeypatch.setattr("burnin.engine.vulkan.copier.SMALLEST_BLOCK_BYTES", 2**24)
    with pytest.raises(OutOfCardMemory):
        fitting_block_bytes(gpu, 1)


def test_a_lost_device_ends_the_copies(device: Device, monkeypatch: pytest.MonkeyPatch) -> None:
    gpu = gpu_of(device)
    copier = HostCopier(gpu, "both", 3, BLOCK, KERNELS[:1])
    with monkeypatch.context() as told:
        told.setattr(gpu._lost, "words", "device was lost (unknown)")
        with pytest.raises(DeviceLost):
            copier.copy(1).finish()
    copier.release()


@pytest.mark.parametrize(
    ("host_gbs", "card_gbs", "crosses"),
    [
        (51.0, 2900.0, True),  # generation 5, width 16, measured
        (388.0, 1500.0, False),  # a buffer mapped for writing lay in the card, measured
        (3.3, 24.0, True),
        (16.0, 17.0, False),  # the bench's memory is the card's own
    ],
)
def test_memory_beyond_the_link_is_told_by_its_rate(
    host_gbs: float, card_gbs: float, crosses: bool
) -> None:
    assert crosses_link(host_gbs, card_gbs) == crosses


@pytest.mark.parametrize("direction", ["to_card", "to_host"])
def test_staged_words_that_arrive_wrong_are_counted(
    device: Device, direction: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is expected is changed in three words: the same as three words changed on the way."""
    assert isinstance(device, VulkanDevice)
    copier = StagedCopier(device._gpu, direction, 2, seed=4)
    assert copier.copy(2).finish().wrong_words == 0
    contents: list[Any] = []
    for content in copier._content:
        changed = content.copy()
        changed[[5, 70_000, 300_000]] ^= np.uint32(0x40)
        contents.append(changed)
    monkeypatch.setattr(copier, "_content", contents)
    assert copier.copy(2).finish().wrong_words == 3
    copier.release()


@pytest.mark.parametrize(
    ("fitting_mib", "taken_mib"), [(1, None), (4, None), (8, 32), (32, 32), (64, 64)]
)
def test_what_is_read_back_was_more_than_any_cache_ago(
    fitting_mib: int, taken_mib: int | None
) -> None:
    block = host_block_bytes(fitting_mib << 20)
    assert block == (None if taken_mib is None else taken_mib << 20)
    # 96 MiB: the largest cache of a card, from memory of data sheets
    assert block is None or LAG * block > 96 << 20
