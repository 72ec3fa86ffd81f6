"""Errors of the Vulkan library, and what they mean for somebody at the bench.

The library (wgpu, which reaches Vulkan through wgpu-native) raises classes of its own and
RuntimeError; that a device was lost it tells by its log alone. A test walks its classes.
"""

from __future__ import annotations

import logging
import re
from collections.abc import Mapping
from types import MappingProxyType

from burnin.core.errors import DeviceLost, EngineError, ReasonedError
from burnin.core.meaning import NoteCode, ReasonCode, TermCode
from burnin.engine.device.area import OutOfCardMemory
from burnin.engine.meanings import EngineReason


class VulkanReason(ReasonCode):
    """Why Vulkan does not do what it was asked; `words` are the library's own."""

    NOT_USABLE = "vulkan_not_usable", "words"
    NO_SOFTWARE_ADAPTER = "vulkan_no_software_adapter"
    NO_ADAPTER = "vulkan_no_adapter", "vendor_id", "device_id", "listed"
    NO_ADAPTER_AT_ALL = "vulkan_no_adapter_at_all", "vendor_id", "device_id"
    FEWER_ALIKE = "vulkan_fewer_alike", "alike", "vendor_id", "device_id", "asked"
    ADAPTER_GONE = "vulkan_adapter_gone", "adapter"
    CARD_NOT_OPENED = "vulkan_card_not_opened", "words"
    FEATURE_MISSING = "vulkan_feature_missing", "feature"

    OUT_OF_MEMORY = "vulkan_out_of_memory", "words"
    WRONG_CALL = "vulkan_wrong_call", "words"
    PIPELINE_UNUSABLE = "vulkan_pipeline_unusable", "words"
    FAILED_INSIDE = "vulkan_failed_inside", "words"
    CALL_REFUSED = "vulkan_call_refused", "words"


class VulkanNote(NoteCode):
    """Why this adapter; ids are PCI numbers, `number` counts from 1."""

    SOFTWARE_ASKED_FOR = "vulkan_why_software_asked_for"
    NUMBERS_MATCH = "vulkan_why_numbers_match", "vendor_id", "device_id"
    ONE_OF_ALIKE = "vulkan_why_one_of_alike", "vendor_id", "device_id", "number", "alike"


class VulkanTerm(TermCode):
    """An adapter as Vulkan lists it."""

    ADAPTER = "vulkan_adapter", "name", "vendor_id", "device_id"


CODES: Mapping[str, VulkanReason] = MappingProxyType({
    "GPUOutOfMemoryError": VulkanReason.OUT_OF_MEMORY,
    "GPUValidationError": VulkanReason.WRONG_CALL,
    "GPUPipelineError": VulkanReason.PIPELINE_UNUSABLE,
    "GPUInternalError": VulkanReason.FAILED_INSIDE,
    "GPUError": VulkanReason.CALL_REFUSED,
    "RuntimeError": VulkanReason.CALL_REFUSED,
})
"""What each class that the library raises means, by its name."""

LOST_BECAUSE: Mapping[str, bool] = MappingProxyType({
    "unknown": True,
    "destroyed": False,
    "CallbackCancelled": False,
    "FailedCreation": True,
})
"""Whether the card is gone, by the library's reason for a lost device; the others are our own
doing: a device that was let go of."""

_LOST = re.compile(r"device was lost \((\w+)\)", re.IGNORECASE)


def refused(error: Exception) -> ReasonedError:
    """The error of ours behind one of the library's: OutOfCardMemory, DeviceLost, EngineError."""
    words = str(error)
    if "lost" in words.lower():
        return lost(words)
    named = (CODES[kind.__name__] for kind in type(error).__mro__ if kind.__name__ in CODES)
    code = next(named, VulkanReason.CALL_REFUSED)
    if code is VulkanReason.OUT_OF_MEMORY:
        return OutOfCardMemory(code(words=words))
    return EngineError(code(words=words))


def lost(words: str) -> DeviceLost:
    """The card does not answer any more; in the library's words."""
    return DeviceLost(EngineReason.CARD_LOST(how=EngineReason.DRIVER_SAYS(words=words)))


class LostListener(logging.Handler):
    """Hears the library's log say that the device was lost; `words` is empty until then.

    What is searched are the library's words: it tells a lost device in no other way.
    """

    def __init__(self) -> None:
        super().__init__(logging.ERROR)
        self.words = ""

    def emit(self, record: logging.LogRecord) -> None:
        """Keep the first such line."""
        words = record.getMessage()
        match = _LOST.search(words)
        if match is not None and LOST_BECAUSE.get(match.group(1), True):
            self.words = words
        elif match is None and "lost" in words.lower() and "destroyed" not in words.lower():
            self.words = self.words or words
