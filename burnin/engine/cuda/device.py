"""The CUDA engine's device: see `burnin.engine.device.device.Device`."""

from __future__ import annotations

from burnin.core.errors import EngineError
from burnin.core.meaning import Reason
from burnin.core.opening import EngineDescription
from burnin.engine.cuda.area import CudaArea
from burnin.engine.cuda.card import CudaCard
from burnin.engine.cuda.copier import CudaCopier
from burnin.engine.cuda.cuda_errors import CudaNote, CudaReason
from burnin.engine.cuda.matrix import MatrixLibrary, MatrixLoad, MatrixUnit, fitting_size
from burnin.engine.cuda.units import FusedMultiplyAdd, chains
from burnin.engine.device.area import GRAIN_WORDS, AreaFound, AreaWanted, OutOfCardMemory
from burnin.engine.device.meanings import AreaReason
from burnin.engine.device.units import ArithmeticUnit, ComputeUnit, UnitsFound

GRAIN_BYTES = GRAIN_WORDS * 4
RESERVE_BYTES = 256 * 2**20
"""Left free beside the test area, for lists and copies."""
SMALLEST_PIECE_BYTES = 2 * 2**20

MATRIX_UNITS = ("bf16 matrix", "fp16 matrix")


class CudaDevice:
    """An NVIDIA card opened by its bus address."""

    def __init__(self, card: CudaCard, address: str, *, beside: bool = False) -> None:
        """`beside`: other work is at the card at the same time."""
        self._card = card
        self._address, self._beside = address, beside
        self._library: MatrixLibrary | None = None
        self._library_missing = False

    def description(self) -> EngineDescription:
        """The card and why it is this one."""
        why = CudaNote.BY_ADDRESS(address=self._address)
        return EngineDescription(
            "cuda", self._card.name, self._card.driver, why,
            address=self._card.address, uuid=self._card.uuid,
        )  # fmt: skip

    def take_area(self, wanted: AreaWanted) -> AreaFound:
        """Take the share of what the card says is free."""
        if not 0.0 < wanted.share <= 1.0:
            raise EngineError(AreaReason.WRONG_SHARE(share=wanted.share))
        free, total = self._card.memory()
        target = min(int(free * wanted.share), free - RESERVE_BYTES)
        if wanted.max_bytes:
            target = min(target, wanted.max_bytes)
        pointers: list[int] = []
        sizes: list[int] = []
        size = target
        while size >= GRAIN_BYTES and sum(sizes) < target:
            size = min(size, target - sum(sizes)) // GRAIN_BYTES * GRAIN_BYTES
            if not size:
                break
            try:
                pointers.append(self._card.allocate(size))
                sizes.append(size)
            except OutOfCardMemory:
                size = size // 2
                if size < SMALLEST_PIECE_BYTES:
                    break
        if not pointers:
            raise EngineError(AreaReason.NONE_FREE(free_bytes=free))
        try:
            area = CudaArea(self._card, pointers, [size // 4 for size in sizes])
        except OutOfCardMemory:
            for pointer in pointers:
                self._card.free(pointer)
            raise
        return AreaFound(area, free, total)

    def _matrix_library(self) -> MatrixLibrary | None:
        if self._library is None and not self._library_missing:
            try:
                self._library = MatrixLibrary(self._card)
            except EngineError:
                self._library_missing = True
        return self._library

    def arithmetic(self) -> ArithmeticUnit:
        """Matrix products, or fused multiply-adds without the matrix library."""
        if self._matrix_library() is not None:
            return MatrixLoad(self._card)
        return FusedMultiplyAdd(self._card)

    def compute_units(self, seed: int) -> UnitsFound:
        """Chains in every format; matrix products in two where the library is at hand."""
        units: list[ComputeUnit] = list[ComputeUnit](chains(self._card, seed))
        missing: dict[str, Reason] = {}
        library = self._matrix_library()
        if library is None:
            missing = dict.fromkeys(MATRIX_UNITS, CudaReason.NO_MATRIX_UNITS())
        else:
            size = fitting_size(self._card, library)
            units += [
                MatrixUnit(self._card, library, name, seed, size)
                for name in MATRIX_UNITS
            ]
        return UnitsFound(tuple(units), missing, self._card.processors)

    def copier(self, direction: str, seed: int) -> CudaCopier:
        """Pinned copies on streams of their own."""
        return CudaCopier(self._card, direction, seed, beside=self._beside)

    def beside(self) -> CudaDevice:
        """The same card, whose work waits for none of this one's."""
        return CudaDevice(self._card.beside(), self._address, beside=True)

    def close(self) -> None:
        """Let go of the card; the process's end gives back the rest."""
        if self._library is not None:
            self._library.close()


def open_cuda(address: str) -> CudaDevice:
    """Open the card at a PCI bus address; raises EngineUnavailable."""
    return CudaDevice(CudaCard(address), address)
