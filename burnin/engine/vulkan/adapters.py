"""Which Vulkan adapter is the card under test.

The API tells vendor and device numbers of the card but no bus address. A processor that answers
Vulkan in software (adapter type CPU) never passes for a card: it is taken only when asked for.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from burnin.core.errors import EngineUnavailable


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
    why: str
    alike: int = 0


def _listed() -> list[tuple[VulkanAdapter, Any]]:
    try:
        import wgpu

        found = [
            a for a in wgpu.gpu.enumerate_adapters_sync()
            if a.info["backend_type"] == "Vulkan"
        ]
    except (ImportError, OSError, RuntimeError) as error:
        raise EngineUnavailable(
            f"the Vulkan library cannot be used on this bench ({error}); "
            "install the card's driver with its Vulkan part"
        ) from error
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
            raise EngineUnavailable(
                "software Vulkan was asked for, but no software adapter is installed "
                "(on Debian: mesa-vulkan-drivers)"
            )
        return VulkanChoice(fakes[0], "software Vulkan was asked for: it says nothing of a card")
    alike = [
        a for a in adapters
        if not a.software and (a.vendor_id, a.device_id) == (vendor_id, device_id)
    ]
    if not alike:
        names = ", ".join(f"{a.name} {a.vendor_id:04x}:{a.device_id:04x}" for a in adapters)
        raise EngineUnavailable(
            f"no Vulkan adapter answers for the card {vendor_id:04x}:{device_id:04x}; "
            f"Vulkan lists: {names or 'nothing'}. Install the card's Vulkan driver"
        )
    if among_alike >= len(alike):
        raise EngineUnavailable(
            f"Vulkan lists {len(alike)} adapters {vendor_id:04x}:{device_id:04x}, "
            f"number {among_alike + 1} was asked for"
        )
    why = f"its PCI numbers are the card's, {vendor_id:04x}:{device_id:04x}"
    if len(alike) > 1:
        why += f"; number {among_alike + 1} of {len(alike)} that are alike"
    return VulkanChoice(alike[among_alike], why, len(alike) - 1)


def native_adapter(choice: VulkanChoice) -> Any:
    """The library's own object of the chosen adapter."""
    for adapter, native in _listed():
        if adapter == choice.adapter:
            return native
    raise EngineUnavailable(f"the Vulkan adapter {choice.adapter.name} is gone")
