from __future__ import annotations

import importlib.util
from dataclasses import dataclass

import pytest

from burnin.core.errors import EngineUnavailable
from burnin.core.reading import NotMeasured
from burnin.core.sample import Telemetry
from burnin.engine.choose import open_engine
from burnin.engine.proof import judge_burst, moved
from burnin.engine.vulkan.adapters import VulkanAdapter, choose

CORVANE = 0xF5A7


@dataclass(frozen=True)
class Numbers:
    address: str = "0000:03:00.0"
    vendor_id: int = CORVANE
    device_id: int = 9


def adapter(number: int, kind: str = "DiscreteGPU", device_id: int = 9) -> VulkanAdapter:
    return VulkanAdapter(number, f"Strata {number}", "driver", kind, CORVANE, device_id)


def test_the_adapter_with_the_cards_numbers_is_taken() -> None:
    choice = choose((adapter(0, device_id=8), adapter(1)), CORVANE, 9)
    assert choice.adapter.number == 1
    assert choice.alike == 0


def test_a_processor_never_passes_for_a_card() -> None:
    with pytest.raises(EngineUnavailable, match="no Vulkan adapter answers"):
        choose((adapter(0, "CPU"),), CORVANE, 9)


def test_software_is_taken_only_when_asked_for() -> None:
    choice = choose((adapter(0), adapter(1, "CPU")), CORVANE, 9, software=True)
    assert choice.adapter.software
    assert "nothing of a card" in choice.why


def test_software_that_is_not_installed_is_a_clear_sentence() -> None:
    with pytest.raises(EngineUnavailable, match="mesa-vulkan-drivers"):
        choose((adapter(0),), CORVANE, 9, software=True)


def test_identical_cards_are_counted() -> None:
    two = (adapter(0), adapter(1))
    assert choose(two, CORVANE, 9, among_alike=1).adapter.number == 1
    assert choose(two, CORVANE, 9).alike == 1
    with pytest.raises(EngineUnavailable, match="lists 2 adapters"):
        choose(two, CORVANE, 9, among_alike=2)


def test_an_unknown_engine_is_refused() -> None:
    with pytest.raises(EngineUnavailable, match="'steam'; there are cuda, vulkan"):
        open_engine(Numbers(), "steam")


def test_cuda_is_for_one_vendors_cards() -> None:
    with pytest.raises(EngineUnavailable, match="vendor 10de"):
        open_engine(Numbers(), "cuda")


@pytest.mark.skipif(importlib.util.find_spec("cupy") is not None, reason="the extra is here")
def test_cuda_without_its_extra_says_what_to_install() -> None:
    with pytest.raises(EngineUnavailable, match=r"burnin\[cuda\]"):
        open_engine(Numbers(vendor_id=0x10DE), "cuda")


@pytest.mark.software_vulkan
def test_a_card_without_any_engine_is_a_clear_sentence(software_vulkan: None) -> None:
    with pytest.raises(EngineUnavailable, match="f5a7:0009"):
        open_engine(Numbers())


IDLE = Telemetry(busy_pct=0.0, power_w=70.0, core_clock_mhz=300.0)
BUSY = Telemetry(busy_pct=98.0, power_w=160.0, core_clock_mhz=1900.0)


def test_work_that_moves_only_this_card_proves_it() -> None:
    proof = judge_burst((IDLE, BUSY), [(IDLE, IDLE)])
    assert proof.proven is True
    assert "power_w 70 to 160" in proof.why


def test_work_that_moves_another_card_proves_nothing() -> None:
    assert judge_burst((IDLE, IDLE), [(IDLE, BUSY)]).proven is False
    assert judge_burst((IDLE, BUSY), [(IDLE, BUSY)]).proven is False


def test_a_card_without_counters_is_not_measured() -> None:
    proof = judge_burst((Telemetry(), Telemetry()), [])
    assert isinstance(proof.proven, NotMeasured)
    assert isinstance(moved(Telemetry(), BUSY), NotMeasured)
