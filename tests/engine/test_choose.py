from __future__ import annotations

import importlib.util
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import cast

import pytest

from burnin.core.errors import EngineUnavailable
from burnin.core.meaning import Note, Reason
from burnin.engine.choose import engine_kinds, open_engine
from burnin.engine.cuda.cuda_errors import CudaReason
from burnin.engine.engine import Engine
from burnin.engine.kind import CardWanted, EngineKind
from burnin.engine.meanings import EngineNote, EngineReason
from burnin.engine.vulkan.adapters import VulkanAdapter, choose
from burnin.engine.vulkan.vulkan_errors import VulkanNote, VulkanReason, VulkanTerm
from burnin.report.languages.catalogue import catalogue

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
    with pytest.raises(EngineUnavailable) as refused:
        choose((adapter(0, "CPU"),), CORVANE, 9)
    listed = VulkanTerm.ADAPTER(name="Strata 0", vendor_id=CORVANE, device_id=9)
    assert refused.value.reason == VulkanReason.NO_ADAPTER(
        vendor_id=CORVANE, device_id=9, listed=(listed,)
    )
    with pytest.raises(EngineUnavailable) as none:
        choose((), CORVANE, 9)
    assert none.value.reason == VulkanReason.NO_ADAPTER_AT_ALL(vendor_id=CORVANE, device_id=9)


def test_software_is_taken_only_when_asked_for() -> None:
    choice = choose((adapter(0), adapter(1, "CPU")), CORVANE, 9, software=True)
    assert choice.adapter.software
    assert choice.why == VulkanNote.SOFTWARE_ASKED_FOR()
    assert "nothing of a card" in catalogue("en").say(choice.why)


def test_software_that_is_not_installed_is_a_clear_sentence() -> None:
    with pytest.raises(EngineUnavailable) as refused:
        choose((adapter(0),), CORVANE, 9, software=True)
    assert refused.value.reason == VulkanReason.NO_SOFTWARE_ADAPTER()
    assert "mesa-vulkan-drivers" in catalogue("en").say(refused.value.reason)


def test_identical_cards_are_counted() -> None:
    two = (adapter(0), adapter(1))
    assert choose(two, CORVANE, 9, among_alike=1).adapter.number == 1
    assert choose(two, CORVANE, 9).alike == 1
    second = choose(two, CORVANE, 9, among_alike=1).why
    assert second == VulkanNote.ONE_OF_ALIKE(vendor_id=CORVANE, device_id=9, number=2, alike=2)
    with pytest.raises(EngineUnavailable) as refused:
        choose(two, CORVANE, 9, among_alike=2)
    assert refused.value.reason == VulkanReason.FEWER_ALIKE(
        alike=2, vendor_id=CORVANE, device_id=9, asked=3
    )


def test_an_unknown_engine_is_refused() -> None:
    with pytest.raises(EngineUnavailable) as refused:
        open_engine(Numbers(), "steam")
    told = catalogue("en").say(refused.value.reason)
    assert told.startswith("no engine is called 'steam'; there are cuda, vulkan")


def test_cuda_is_for_one_vendors_cards() -> None:
    with pytest.raises(EngineUnavailable) as refused:
        open_engine(Numbers(), "cuda")
    assert refused.value.reason == CudaReason.OTHER_VENDOR(
        vendor_id=CORVANE, cuda_vendor_id=0x10DE
    )
    with pytest.raises(EngineUnavailable) as software:
        open_engine(Numbers(vendor_id=0x10DE), "cuda", software=True)
    assert software.value.reason == EngineReason.NO_SOFTWARE_ADAPTER(engine="CUDA")


@pytest.mark.skipif(importlib.util.find_spec("cupy") is not None, reason="the extra is here")
def test_cuda_without_its_extra_says_what_to_install() -> None:
    with pytest.raises(EngineUnavailable) as refused:
        open_engine(Numbers(vendor_id=0x10DE), "cuda")
    assert refused.value.reason == CudaReason.NO_PACKAGE()
    assert "burnin[cuda]" in catalogue("en").say(refused.value.reason)


@pytest.mark.software_vulkan
def test_a_card_without_any_engine_is_a_clear_sentence(software_vulkan: None) -> None:
    with pytest.raises(EngineUnavailable) as refused:
        open_engine(Numbers())
    assert refused.value.reason.means(VulkanReason.NO_ADAPTER)
    assert (refused.value.reason["vendor_id"], refused.value.reason["device_id"]) == (CORVANE, 9)


class Opened:
    """What a shop's own engine was opened with, in an engine's place."""

    def __init__(self, wanted: CardWanted, why: Note | None) -> None:
        self.wanted, self.why = wanted, why


def shops_engine(priority: int, *, lacking: Reason | None = None) -> EngineKind:
    def open_it(wanted: CardWanted, why: Note | None) -> Engine:
        if lacking is not None:
            raise EngineUnavailable(lacking)
        return cast("Engine", Opened(wanted, why))

    return EngineKind(
        name="shop",
        title="Shop",
        priority=priority,
        why=EngineNote.ANY_VENDOR(),
        probe=lambda _: None,
        open=open_it,
    )


@pytest.fixture
def registered(monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    def register(*kinds: EngineKind) -> None:
        found = {kind.name: kind for kind in kinds}
        monkeypatch.setattr("burnin.engine.choose.engine_kinds", lambda: found)

    return register


def test_ours_are_registered_and_say_what_they_are() -> None:
    kinds = engine_kinds()
    assert {"cuda", "vulkan"} <= set(kinds)
    for name, kind in kinds.items():
        assert kind.name == name
        assert catalogue("en").knows(kind.why.code)
        assert catalogue("de").knows(kind.why.code)


def test_the_engine_of_highest_priority_is_taken_and_says_why(
    registered: Callable[..., None],
) -> None:
    registered(*engine_kinds().values(), shops_engine(30))
    opened = cast("Opened", open_engine(Numbers(), among_alike=1))
    assert opened.wanted == CardWanted("0000:03:00.0", CORVANE, 9, 1, False)
    assert opened.why == EngineNote.ANY_VENDOR()
    asked = cast("Opened", open_engine(Numbers(), "shop"))
    assert asked.why == EngineNote.ASKED_FOR()


def test_the_next_one_says_why_it_is_not_the_better_one(registered: Callable[..., None]) -> None:
    broken = replace(shops_engine(40, lacking=EngineReason.NONE_AT_HAND()), name="broken")
    registered(broken, shops_engine(30))
    opened = cast("Opened", open_engine(Numbers()))
    assert opened.why == EngineNote.OTHER_NOT_AT_HAND(
        engine="Shop", reason=EngineReason.NONE_AT_HAND()
    )
    registered(broken)
    with pytest.raises(EngineUnavailable) as refused:
        open_engine(Numbers())
    assert refused.value.reason == EngineReason.NONE_AT_HAND()

