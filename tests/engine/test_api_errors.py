"""Every error of the libraries that work a card is one of ours, with words in both languages."""

from __future__ import annotations

import inspect
import logging
from pathlib import Path

import pytest

from burnin.core.errors import DeviceLost, EngineError
from burnin.engine.cuda import cuda_errors
from burnin.engine.cuda.cuda_errors import CudaReason
from burnin.engine.device.area import OutOfCardMemory
from burnin.engine.meanings import EngineReason
from burnin.engine.process import exit_codes
from burnin.engine.process.meanings import WorkerReason
from burnin.engine.vulkan import vulkan_errors
from burnin.engine.vulkan.vulkan_errors import LostListener, VulkanReason
from burnin.report.languages.catalogue import catalogue

HEADER = Path(__file__).parents[1] / "data" / "cuda_errors.txt"
CUDA = {
    name: int(number)
    for name, number in (
        line.split("=") for line in HEADER.read_text().splitlines() if not line.startswith("#")
    )
}
"""The names and numbers of the runtime's own header."""


def test_the_header_was_read() -> None:
    assert len(CUDA) > 130
    assert CUDA["cudaErrorIllegalAddress"] == 700


@pytest.mark.parametrize("name", sorted(CUDA))
def test_every_cuda_error_has_its_code_and_words(name: str) -> None:
    error = cuda_errors.refused(CUDA[name], f"{name}: said so")
    assert isinstance(error, EngineError | OutOfCardMemory)
    assert not error.reason.means(CudaReason.UNKNOWN_NUMBER)
    for language in ("en", "de"):
        for part in error.reason.parts():
            assert catalogue(language).knows(part.code)
        assert f"{name}: said so" in catalogue(language).say(error.reason)


def test_the_table_holds_nothing_that_the_header_lacks() -> None:
    assert set(cuda_errors.CODES) == set(CUDA.values())


@pytest.mark.parametrize(
    "name",
    [
        *("cudaErrorNoDevice", "cudaErrorDevicesUnavailable", "cudaErrorECCUncorrectable"),
        *("cudaErrorNvlinkUncorrectable", "cudaErrorContained", "cudaErrorIllegalAddress"),
        *("cudaErrorLaunchTimeout", "cudaErrorContextIsDestroyed", "cudaErrorAssert"),
        *("cudaErrorHardwareStackError", "cudaErrorIllegalInstruction", "cudaErrorLaunchFailure"),
        *("cudaErrorMisalignedAddress", "cudaErrorInvalidAddressSpace", "cudaErrorInvalidPc"),
        "cudaErrorUnknown",
    ],
)
def test_after_these_the_card_is_lost(name: str) -> None:
    error = cuda_errors.refused(CUDA[name], "x")
    assert isinstance(error, DeviceLost)
    assert error.reason.means(EngineReason.CARD_LOST)


def test_a_full_card_and_a_refused_call_are_no_lost_card() -> None:
    assert isinstance(cuda_errors.refused(2, "x"), OutOfCardMemory)
    refused = cuda_errors.refused(CUDA["cudaErrorInvalidValue"], "x")
    assert not isinstance(refused, DeviceLost)
    unknown = cuda_errors.refused(4711, "something new")
    assert unknown.reason == CudaReason.UNKNOWN_NUMBER(number=4711, words="something new")


def test_every_class_that_the_vulkan_library_raises_is_in_the_table() -> None:
    import wgpu.classes

    raised = {
        name
        for name, kind in inspect.getmembers(wgpu.classes, inspect.isclass)
        if issubclass(kind, Exception) and name.startswith("GPU")
    }
    assert len(raised) >= 5
    assert set(vulkan_errors.CODES) == raised | {"RuntimeError"}


@pytest.mark.parametrize("name", sorted(vulkan_errors.CODES))
def test_every_vulkan_error_has_its_code_and_words(name: str) -> None:
    import wgpu

    kind = RuntimeError if name == "RuntimeError" else getattr(wgpu, name)
    raised = kind("said so", {}) if name == "GPUPipelineError" else kind("said so")
    error = vulkan_errors.refused(raised)
    assert error.reason == vulkan_errors.CODES[name](words="said so")
    assert isinstance(error, OutOfCardMemory) == (name == "GPUOutOfMemoryError")
    for language in ("en", "de"):
        assert "said so" in catalogue(language).say(error.reason)


def test_a_lost_device_is_told_by_the_librarys_words() -> None:
    error = vulkan_errors.refused(RuntimeError("Parent device is lost"))
    assert isinstance(error, DeviceLost)
    said = EngineReason.DRIVER_SAYS(words="Parent device is lost")
    assert error.reason == EngineReason.CARD_LOST(how=said)


def test_every_reason_for_a_lost_device_is_in_the_table() -> None:
    from wgpu.backends.wgpu_native import _mappings

    assert set(vulkan_errors.LOST_BECAUSE) == set(
        _mappings.enum_int2str["DeviceLostReason"].values()
    )


@pytest.mark.parametrize(("because", "gone"), sorted(vulkan_errors.LOST_BECAUSE.items()))
def test_the_log_tells_a_lost_card_from_one_that_was_let_go(because: str, gone: bool) -> None:
    listener = LostListener()
    told = f"The WGPU device was lost ({because}):\nsome words"
    record = logging.LogRecord("wgpu", logging.ERROR, "", 0, told, None, None)
    listener.emit(record)
    assert bool(listener.words) == gone
    other = logging.LogRecord("wgpu", logging.ERROR, "", 0, "a shader is odd", None, None)
    listener.emit(other)
    assert bool(listener.words) == gone


@pytest.mark.parametrize("code", [*VulkanReason, *CudaReason])
def test_each_code_has_words(code: VulkanReason | CudaReason) -> None:
    for language in ("en", "de"):
        assert catalogue(language).knows(str(code.value))


def test_exit_codes_of_the_worker_say_why_it_ended() -> None:
    assert exit_codes.why_ended(exit_codes.NO_HEARTBEAT).means(EngineReason.NO_HEARTBEAT)
    assert exit_codes.why_ended(exit_codes.SLICE_STUCK).means(EngineReason.SLICE_DID_NOT_END)
    assert exit_codes.why_ended(77) == WorkerReason.BY_EXIT_CODE(exit_code=77)
