"""Which Vulkan adapter is the card under test.

The API tells vendor and device numbers of the card but no bus address. A processor that answers
Vulkan in software (adapter type CPU) never passes for a card: it is taken only when asked for.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from burnin.core.errors import EngineUnavailable
from burnin.core.meaning import Note, Reason
from burnin.engine.vulkan.vulkan_errors import VulkanNote, VulkanReason, VulkanTerm


@dataclass(frozen=True)
class VulkanAdapter:
    """One adapter as Vulkan lists it; `number` counts among all Vulkan adapters.

    `kind` is ``DiscreteGPU``, ``IntegratedGPU``, ``VirtualGPU``, ``CPU`` or ``Unknown``.
    """

    number: int
    name: str
    driver: str
    kind: str
    vendor_id: int
    device_id: int

    @property
    def software(self) -> bool:
        """Whether a processor plays the card."""
        return self.kind == "CPU"


@dataclass(frozen=True)
class VulkanChoice:
    """The adapter that was taken and why; `alike` other adapters carry the same numbers."""

    adapter: VulkanAdapter
    why: Note
    alike: int = 0


def _listed() -> list[tuple[VulkanAdapter, Any]]:
    try:
        import wgpu

        found = [
            a for a in wgpu.gpu.enumerate_adapters_sync()
            if a.info["backend_type"] == "Vulkan"
        ]
    except (ImportError, OSError, RuntimeError) as error:
        raise EngineUnavailable(VulkanReason.NOT_USABLE(words=str(error))) from error
    listed = []
    for number, adapter in enumerate(found):
        info = adapter.info
        listed.append((
            VulkanAdapter(
                number, str(info["device"]), str(info["description"]), str(info["adapter_type"]),
                int(info["vendor_id"]), int(info["device_id"]),
            ),
            adapter,
        ))
    return listed


def vulkan_adapters() -> tuple[VulkanAdapter, ...]:
    """All Vulkan adapters of this bench; raises EngineUnavailable without the library."""
    return tuple(adapter for adapter, _ in _listed())


def choose(
    adapters: tuple[VulkanAdapter, ...],
    vendor_id: int,
    device_id: int,
    *,
    software: bool = False,
    among_alike: int = 0,
) -> VulkanChoice:
    """The adapter of the card with these PCI numbers, or the software one when asked for.

    `among_alike` picks one of several identical cards. Raises EngineUnavailable.
    """
    if software:
        fakes = [a for a in adapters if a.software]
        if not fakes:
            raise EngineUnavailable(VulkanReason.NO_SOFTWARE_ADAPTER())
        return VulkanChoice(fakes[0], VulkanNote.SOFTWARE_ASKED_FOR())
    alike = [
        a for a in adapters
        if not a.software and (a.vendor_id, a.device_id) == (vendor_id, device_id)
    ]
    if not alike:
        raise EngineUnavailable(_none_answers(adapters, vendor_id, device_id))
    if among_alike >= len(alike):
        raise EngineUnavailable(
            VulkanReason.FEWER_ALIKE(
                alike=len(alike), vendor_id=vendor_id, device_id=device_id, asked=among_alike + 1
            )
        )
    why = VulkanNote.NUMBERS_MATCH(vendor_id=vendor_id, device_id=device_id)
    if len(alike) > 1:
        why = VulkanNote.ONE_OF_ALIKE(
            vendor_id=vendor_id, device_id=device_id, number=among_alike + 1, alike=len(alike)
        )
    return VulkanChoice(alike[among_alike], why, len(alike) - 1)


def _none_answers(
    adapters: tuple[VulkanAdapter, ...], vendor_id: int, device_id: int
) -> Reason:
    if not adapters:
        return VulkanReason.NO_ADAPTER_AT_ALL(vendor_id=vendor_id, device_id=device_id)
    listed = tuple(
        VulkanTerm.ADAPTER(name=a.name, vendor_id=a.vendor_id, device_id=a.device_id)
        for a in adapters
    )
    return VulkanReason.NO_ADAPTER(vendor_id=vendor_id, device_id=device_id, listed=listed)


def native_adapter(choice: VulkanChoice) -> Any:
    """The library's own object of the chosen adapter."""
    for adapter, native in _listed():
        if adapter == choice.adapter:
            return native
    raise EngineUnavailable(VulkanReason.ADAPTER_GONE(adapter=choice.adapter.name))
