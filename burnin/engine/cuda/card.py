"""A card opened through CUDA: streams, kernels, memory, and errors in our own words."""

from __future__ import annotations

import copy
import importlib.resources
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar
from uuid import UUID

from burnin.core.errors import EngineUnavailable
from burnin.engine.cuda.cuda_errors import CudaReason, refused
from burnin.engine.device.area import OutOfCardMemory

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

T = TypeVar("T")

THREADS = 256
_REPEATS = frozenset({"compute", "units"})
"""Modules whose kernels keep results that repeat: repeating.cu is put before them."""


class PinnedWords:
    """Host memory that the card copies from and to directly; `words` has shape (n,), uint32."""

    def __init__(self, card: CudaCard, size: int) -> None:
        import cupy
        import numpy as np

        self._memory = card.call(lambda: cupy.cuda.alloc_pinned_memory(size))
        self.pointer = int(self._memory.ptr)
        self.words: NDArray[np.uint32] = np.frombuffer(self._memory, np.uint32, size // 4)


class CudaCard:
    """One device, made current for the calling thread. Every call may raise DeviceLost."""

    def __init__(self, address: str) -> None:
        try:
            import cupy
            from cupy.cuda import runtime
        except ImportError as error:
            raise EngineUnavailable(CudaReason.NOT_USABLE(words=str(error))) from error
        self._cupy = cupy
        self.runtime: Any = runtime
        try:
            self.number = int(runtime.deviceGetByPCIBusId(address)) if address else 0
            cupy.cuda.Device(self.number).use()
            runtime.free(0)
            properties = runtime.getDeviceProperties(self.number)
        except (runtime.CUDARuntimeError, ValueError) as error:
            reason = refused(int(getattr(error, "status", 0)), str(error)).reason
            not_opened = CudaReason.CARD_NOT_OPENED(address=address, reason=reason)
            raise EngineUnavailable(not_opened) from error
        self.address = _told_address(runtime, self.number)
        self.uuid = told_uuid(properties.get("uuid"))
        self.name = bytes(properties["name"]).decode(errors="replace").rstrip("\0")
        self.processors = int(properties["multiProcessorCount"])
        self.total_bytes = int(properties["totalGlobalMem"])
        self.cache_bytes = int(properties["l2CacheSize"])
        self.stream = self.new_stream()
        self._modules: dict[str, Any] = {}

    @property
    def driver(self) -> str:
        """CUDA version that the driver supports."""
        version = int(self.runtime.driverGetVersion())
        return f"CUDA {version // 1000}.{version % 1000 // 10}"

    def call(self, what: Callable[[], T]) -> T:
        """Call into CUDA; its errors become OutOfCardMemory, DeviceLost or EngineError."""
        driver_error = self._cupy.cuda.driver.CUDADriverError
        try:
            return what()
        except MemoryError as error:
            raise OutOfCardMemory(CudaReason.OUT_OF_MEMORY(words=str(error))) from error
        except (self.runtime.CUDARuntimeError, driver_error) as error:
            raise refused(int(getattr(error, "status", 0)), str(error)) from error

    def new_stream(self) -> Any:
        """A stream that waits for no other."""
        return self._cupy.cuda.Stream(non_blocking=True)

    def beside(self) -> CudaCard:
        """The same card with a stream of its own."""
        other = copy.copy(self)
        other.stream = self.new_stream()
        return other

    def kernel(self, module: str, name: str) -> Any:
        """A kernel of `<module>.cu`, compiled when it is first asked for."""
        if module not in self._modules:
            folder = importlib.resources.files("burnin.engine.cuda")
            names = ("repeating", module) if module in _REPEATS else (module,)
            texts = (folder.joinpath(f"{name}.cu").read_text(encoding="utf-8") for name in names)
            code = "".join(texts)
            self._modules[module] = self._cupy.RawModule(code=code, options=("--std=c++17",))
        return self.call(lambda: self._modules[module].get_function(name))

    def launch(
        self,
        kernel: Any,
        blocks: tuple[int, ...],
        arguments: tuple[Any, ...],
        stream: Any = None,
        threads: int = THREADS,
    ) -> None:
        """Queue a kernel in blocks of `threads` on `stream`, by default the card's own."""

        def queue() -> None:
            with stream or self.stream:
                kernel(blocks, (threads,), arguments)

        self.call(queue)

    def allocate(self, size: int) -> int:
        """Address of `size` bytes on the card; raises OutOfCardMemory."""
        return self.call(lambda: int(self.runtime.malloc(size)))

    def free(self, pointer: int) -> None:
        """Give memory back."""
        self.call(lambda: self.runtime.free(pointer))

    def memory(self) -> tuple[int, int]:
        """Free and total bytes."""
        free, total = self.call(self.runtime.memGetInfo)
        return int(free), int(total)

    def clear(self, pointer: int, size: int, value: int = 0, stream: Any = None) -> None:
        """Queue setting bytes to `value`."""
        chosen = stream or self.stream
        self.call(lambda: self.runtime.memsetAsync(pointer, value, size, chosen.ptr))

    def copy(self, target: int, source: int, size: int, stream: Any = None) -> None:
        """Queue a copy between any two of host (pinned, if it is not to block) and card."""
        chosen = stream or self.stream
        self.call(lambda: self.runtime.memcpyAsync(target, source, size, 4, chosen.ptr))

    def event(self, stream: Any = None, *, timed: bool = False) -> Any:
        """An event recorded now on the stream; waiting for it lets other threads run."""
        event = self._cupy.cuda.Event(block=True, disable_timing=not timed)
        self.call(lambda: event.record(stream or self.stream))
        return event

    def has_come(self, event: Any) -> bool:
        """Whether the event has come; does not wait."""
        return bool(self.call(lambda: event.done))

    def wait(self, event: Any) -> None:
        """Wait on the host until the event has come."""
        self.call(event.synchronize)

    def follow(self, stream: Any, event: Any) -> None:
        """Let `stream` wait on the card for the event."""
        self.call(lambda: stream.wait_event(event))

    def seconds_between(self, first: Any, second: Any) -> float:
        """Seconds between two timed events that have come."""
        return float(self.call(lambda: self._cupy.cuda.get_elapsed_time(first, second))) / 1e3

    def fetch(self, pointer: int, words: int) -> NDArray[np.uint32]:
        """Words of card memory, after all that was queued on the card's stream."""
        import numpy as np

        found = np.empty(words, np.uint32)
        self.copy(found.ctypes.data, pointer, words * 4)
        self.call(self.stream.synchronize)
        return found

    def send(self, pointer: int, content: NDArray[np.uint32]) -> None:
        """Overwrite card memory and wait for it."""
        self.copy(pointer, content.ctypes.data, content.nbytes)
        self.call(self.stream.synchronize)


def _told_address(runtime: Any, number: int) -> str:
    """Bus address of a device as CUDA itself tells it; empty where it does not."""
    try:
        return str(runtime.deviceGetPCIBusId(number)).strip().lower()
    except (runtime.CUDARuntimeError, AttributeError):
        return ""


def told_uuid(raw: object) -> str:
    """A card's UUID as the driver's library writes it, from the 16 bytes that CUDA tells.

    Empty where they are not 16: a library that took them for text cut them at the first zero.

    >>> told_uuid(bytes(range(1, 17)))
    'GPU-01020304-0506-0708-090a-0b0c0d0e0f10'
    """
    if not isinstance(raw, bytes) or len(raw) != 16:
        return ""
    return f"GPU-{UUID(bytes=raw)}"
