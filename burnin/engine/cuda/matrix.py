"""Matrix products: the heaviest load, and results that Freivalds' check proves.

The products come from the vendor's library (cuBLAS): where it is not installed, the engine
goes without the matrix units.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any

from burnin.core.errors import EngineError
from burnin.core.meaning import Term
from burnin.engine.cuda.card import THREADS, CudaCard, PinnedWords
from burnin.engine.cuda.cuda_errors import CudaReason
from burnin.engine.device.area import OutOfCardMemory
from burnin.engine.device.meanings import WorkTerm
from burnin.engine.device.queued import QueuedCall
from burnin.engine.device.recipes import pcg, pcg_array
from burnin.engine.device.units import Differences, Disturbance

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

FP32, FP16, BF16 = 0, 2, 14
"""cudaDataType_t: CUDA_R_32F, CUDA_R_16F, CUDA_R_16BF (library_types.h)."""
COMPUTE_FP32 = 68
"""cublasComputeType_t: CUBLAS_COMPUTE_32F."""
DEFAULT_ALGORITHM = -1
CHUNK = 64
FOUND_WORDS = 256
FIRST_PLACE = 200
"""From this word on a bit stands for each processor that did some of it."""
EXAMPLES = 64
SLOTS = 4
TRIALS = 5
REFERENCE_ROWS = 4
REFERENCE_COLUMNS, REFERENCE_STRETCHES = 2048, 4
SIZE, LARGE_SIZE = 4096, 8192
"""Elements in a row of the products; sums stay whole numbers below 2^24 in either."""
LARGE_WITHIN_S = 0.0005
"""A product of `SIZE` that takes no longer leaves the card waiting for the bench between two."""
LARGE_SHARE = 0.02
"""Most of the card's memory that the larger product may take."""


class MatrixLibrary:
    """cuBLAS on the card's stream. Raises EngineError where it is not installed."""

    def __init__(self, card: CudaCard) -> None:
        import numpy as np

        try:
            from cupy.cuda import cublas
        except Exception as error:
            raise EngineError(CudaReason.NO_MATRIX_LIBRARY(words=str(error))) from error
        self._card = card
        self._cublas = cublas
        self._handle = card.call(cublas.create)
        self._one, self._zero = np.ones(1, np.float32), np.zeros(1, np.float32)

    def multiply(
        self, a: int, b: int, c: int, shape: tuple[int, int, int], kind: int, result_kind: int
    ) -> None:
        """Queue C = A B; `shape` is rows, columns, depth; columns are stored one by one."""
        rows, columns, depth = shape

        def queue() -> None:
            with self._card.stream:
                self._cublas.gemmEx(
                    self._handle, 0, 0, rows, columns, depth, self._one.ctypes.data,
                    a, kind, rows, b, kind, depth, self._zero.ctypes.data,
                    c, result_kind, rows, COMPUTE_FP32, DEFAULT_ALGORITHM,
                )

        try:
            self._card.call(queue)
        except self._cublas.CUBLASError as error:
            raise EngineError(CudaReason.PRODUCT_REFUSED(words=str(error))) from error

    def close(self) -> None:
        """Let go of the library."""
        self._card.call(lambda: self._cublas.destroy(self._handle))


class MatrixLoad:
    """bf16 products of noise, as an arithmetic load. See `ArithmeticUnit`."""

    SHAPE = (4096, 8192, 4096)
    title: Term = WorkTerm.MATRIX_PRODUCTS_BF16()

    def __init__(self, card: CudaCard) -> None:
        import numpy as np

        self._card = card
        self._library = MatrixLibrary(card)
        rows, columns, depth = self.SHAPE
        self.operations_per_round = 2.0 * rows * columns * depth
        counts = (rows * depth, depth * columns, rows * columns)
        self._buffers = [card.allocate(count * 2) for count in counts]
        fill = card.kernel("compute", "fill_noise_bf16")
        for seed, (pointer, count) in enumerate(zip(self._buffers[:2], counts, strict=False)):
            arguments = (np.uint64(pointer), np.uint64(count), np.uint32(seed))
            card.launch(fill, (-(-count // THREADS),), arguments)

    def work(self, rounds: int) -> QueuedCall[None]:
        """Queue `rounds` products."""
        a, b, c = self._buffers
        for _ in range(rounds):
            self._library.multiply(a, b, c, self.SHAPE, BF16, BF16)
        event = self._card.event()
        return QueuedCall(partial(self._card.wait, event), partial(self._card.has_come, event))

    def release(self) -> None:
        """Give its memory back."""
        for pointer in self._buffers:
            self._card.free(pointer)
        self._library.close()


@dataclass(frozen=True)
class _Sums:
    """Two 64-bit checksums a row: of B r, of A (B r) and of C r."""

    inner: int
    want: int
    got: int


class MatrixUnit:
    """Exact products of whole numbers, checked without a second product.

    See `ComputeUnit`. `index` of a result is row * columns + column; the sign
    of a zero is not judged.
    """

    def __init__(
        self, card: CudaCard, library: MatrixLibrary, name: str, seed: int, size: int
    ) -> None:
        """`size`: rows, columns and depth of the product; one of `fitting_size`."""
        import numpy as np

        self._card, self._library = card, library
        self._kind = {"bf16 matrix": BF16, "fp16 matrix": FP16}[name]
        self.name = name
        self._size = n = size
        self.results = n * n
        self.operations_per_repeat = 2.0 * n**3
        self._seeds = (pcg(seed & 0xFFFFFFFF), pcg((seed ^ 0x5EED) & 0xFFFFFFFF))
        self._a, self._b = card.allocate(n * n * 2), card.allocate(n * n * 2)
        self._c = card.allocate(n * n * 4)
        self._sums = _Sums(*(card.allocate(n * 16) for _ in range(3)))
        self._found = [card.allocate(FOUND_WORDS * 4) for _ in range(SLOTS)]
        self._host = [PinnedWords(card, FOUND_WORDS * 4) for _ in range(SLOTS)]
        self._slices = 0
        fill = card.kernel("compute", "fill_bf16" if self._kind == BF16 else "fill_fp16")
        for pointer, element_seed in zip((self._a, self._b), self._seeds, strict=True):
            arguments = (np.uint64(pointer), np.uint32(n * n), np.uint32(element_seed))
            card.launch(fill, (n * n // THREADS,), arguments)

    def repeat(self, times: int, disturb: Disturbance | None) -> QueuedCall[Differences]:
        """Multiply and check `times` times."""
        slot = self._slices % SLOTS
        self._slices += 1
        self._card.clear(self._found[slot], FOUND_WORDS * 4)
        for number in range(times):
            self._library.multiply(
                self._a, self._b, self._c, (self._size,) * 3, self._kind, FP32
            )
            if disturb is not None and number == 0:
                self._flip(disturb)
            self._check(self._found[slot], salt=pcg(self._slices * 4096 + number & 0xFFFFFFFF))
        self._card.copy(self._host[slot].pointer, self._found[slot], FOUND_WORDS * 4)
        event = self._card.event()
        come = partial(self._card.has_come, event)
        return QueuedCall(partial(self._differences, slot, event), come)

    def _flip(self, disturb: Disturbance) -> None:
        import numpy as np

        row, column = divmod(disturb.index, self._size)
        kernel = self._card.kernel("compute", "flip_result")
        place = np.uint32(column * self._size + row)
        arguments = (np.uint64(self._c), place, np.uint32(disturb.flip_bits))
        self._card.launch(kernel, (1,), arguments, threads=1)

    def _check(self, found: int, salt: int) -> None:
        """Queue Freivalds' check with fresh weights."""
        import numpy as np

        n, sums, card = self._size, self._sums, self._card
        wide, word = np.uint64, np.uint32
        for pointer in (sums.inner, sums.want, sums.got):
            card.clear(pointer, n * 16)
        grid = (n // THREADS, n // CHUNK)
        size, key = word(n), word(salt)
        seed_a, seed_b = (word(seed) for seed in self._seeds)
        steps: tuple[tuple[str, tuple[int, ...], tuple[Any, ...]], ...] = (
            ("weighted_factor", grid, (wide(sums.inner), size, size, seed_b, key)),
            ("weighted_chain", grid, (wide(sums.want), wide(sums.inner), size, size, seed_a)),
            ("weighted_product", grid, (wide(sums.got), wide(self._c), size, size, key)),
            ("compare_rows", grid[:1],
             (wide(sums.got), wide(sums.want), wide(self._c), size, size, key, wide(found))),
        )
        for name, blocks, arguments in steps:
            card.launch(card.kernel("compute", name), blocks, arguments)

    def _differences(self, slot: int, event: Any) -> Differences:
        self._card.wait(event)
        return differences(self._host[slot].words)

    def reference_failures(self, seed: int) -> int | None:
        """Compare rows of the first product, in stretches of columns that lie spread over all of
        it, with the bench's processor."""
        del seed
        import numpy as np

        n = self._size
        rows = np.arange(0, n, n // REFERENCE_ROWS, dtype=np.uint32)
        depth = np.arange(n, dtype=np.uint32)
        seed_a, seed_b = self._seeds
        a = self._elements(depth[:, None] * np.uint32(n) + rows, seed_a)
        width, wrong = REFERENCE_COLUMNS // REFERENCE_STRETCHES, 0
        for first in range(0, n, n // REFERENCE_STRETCHES):
            columns = np.arange(first, first + width, dtype=np.uint32)
            b = self._elements(columns[:, None] * np.uint32(n) + depth, seed_b)
            raw = self._card.fetch(self._c + first * n * 4, width * n)
            product = raw.view(np.float32).reshape(width, n)
            wrong += int(np.count_nonzero(product[:, rows] != b @ a))
        return wrong

    def _elements(self, index: NDArray[np.uint32], element_seed: int) -> NDArray[np.float64]:
        """Elements of a matrix by their index: columns are stored one by one."""
        import numpy as np

        values = (pcg_array(index ^ np.uint32(element_seed)) >> np.uint32(28)).astype(np.int8) - 8
        return np.asarray(values, np.float64)

    def release(self) -> None:
        """Give its memory back."""
        sums = self._sums
        for pointer in (
            self._a, self._b, self._c, sums.inner, sums.want, sums.got, *self._found
        ):
            self._card.free(pointer)


def fitting_size(card: CudaCard, library: MatrixLibrary) -> int:
    """What keeps the card busy: products that are over at once wait for the next to be queued."""
    n = SIZE
    try:
        buffers = [card.allocate(n * n * 2) for _ in range(3)]
    except OutOfCardMemory:
        return SIZE
    times: list[float] = []
    try:
        for _ in range(TRIALS):
            start = card.event(timed=True)
            library.multiply(buffers[0], buffers[1], buffers[2], (n,) * 3, BF16, BF16)
            end = card.event(timed=True)
            card.wait(end)
            times.append(card.seconds_between(start, end))
    finally:
        for pointer in buffers:
            card.free(pointer)
    wanted_bytes = LARGE_SIZE**2 * (2 + 2 + 4)
    fits = wanted_bytes < LARGE_SHARE * card.memory()[1]
    return LARGE_SIZE if fits and min(times) < LARGE_WITHIN_S else SIZE


def differences(words: NDArray[np.uint32]) -> Differences:
    """What the kernels noted: a count, then (index, expected, got) of the first."""
    count = int(words[0])
    listed = min(count, EXAMPLES)
    rows = words[1 : 1 + 3 * listed].reshape(-1, 3)
    places = int.from_bytes(words[FIRST_PLACE:FOUND_WORDS].astype("<u4").tobytes(), "little")
    return Differences(count, tuple((int(i), int(e), int(g)) for i, e, g in rows), places)
