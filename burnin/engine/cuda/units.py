"""Chains that repeat to the bit, and the load for cards without the matrix library."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, Any

from burnin.core.meaning import Term
from burnin.engine.cuda.card import THREADS, CudaCard, PinnedWords
from burnin.engine.cuda.matrix import FOUND_WORDS, SLOTS, differences
from burnin.engine.device import reference
from burnin.engine.device import reference_units as right
from burnin.engine.device.meanings import WorkTerm
from burnin.engine.device.queued import QueuedCall
from burnin.engine.device.units import Differences, Disturbance

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Reference = Callable[[NDArray[np.uint32], int], NDArray[np.uint32]]
    Outside = Callable[[NDArray[np.uint32], NDArray[np.uint32], int], int]

RESULTS = 1 << 20


class FusedMultiplyAdd:
    """See `burnin.engine.device.units.ArithmeticUnit`."""

    title: Term = WorkTerm.FUSED_MULTIPLY_ADD_FP32()

    def __init__(self, card: CudaCard) -> None:
        self._card = card
        self._blocks = card.processors * 8
        self.operations_per_round = float(self._blocks * THREADS * 16 * 32 * 2)
        self._kernel = card.kernel("compute", "fused_multiply_add")
        self._sink = card.allocate(THREADS * 4)

    def work(self, rounds: int) -> QueuedCall[None]:
        """Queue `rounds` rounds."""
        import numpy as np

        arguments = (np.uint32(rounds), np.float32(0.5), np.uint64(self._sink))
        self._card.launch(self._kernel, (self._blocks,), arguments)
        event = self._card.event()
        return QueuedCall(partial(self._card.wait, event), partial(self._card.has_come, event))

    def release(self) -> None:
        """Give its memory back."""
        self._card.free(self._sink)


class CudaChain:
    """One chain of compute.cu. See `burnin.engine.device.units.ComputeUnit`."""

    results = RESULTS

    def __init__(
        self,
        card: CudaCard,
        kernel: str,
        name: str,
        operations_per_step: int,
        seed: int,
        expected: Reference | None,
        *,
        module: str = "compute",
        outside: Outside | None = None,
        in_groups: bool = False,
    ) -> None:
        """`right` and `outside`: what results must be, or how many lie outside their bounds."""
        self._card = card
        self._outside, self._in_groups = outside, in_groups
        self._seed = seed & 0xFFFFFFFF
        self._reference = expected
        self.name = name
        self.operations_per_repeat = float(RESULTS * reference.STEPS * operations_per_step)
        self._kernel = card.kernel(module, kernel)
        self._expected = card.allocate(RESULTS * 4)
        self._found = [card.allocate(FOUND_WORDS * 4) for _ in range(SLOTS)]
        self._host = [PinnedWords(card, FOUND_WORDS * 4) for _ in range(SLOTS)]
        self._slices = 0

    def repeat(self, times: int, disturb: Disturbance | None) -> QueuedCall[Differences]:
        """Compute `times` times; the very first repeat sets what the others must equal."""
        import numpy as np

        card, slot = self._card, self._slices % SLOTS
        card.clear(self._found[slot], FOUND_WORDS * 4)
        for number in range(times):
            first = int(self._slices == 0 and number == 0)
            place, bits = 0, 0
            if disturb is not None and number == 0:
                place, bits = disturb.index, disturb.flip_bits
            card.launch(self._kernel, (RESULTS // THREADS,), (
                np.uint64(self._expected), np.uint64(self._found[slot]), np.uint32(self._seed),
                np.int32(first), np.uint32(place), np.uint32(bits),
            ))
        card.copy(self._host[slot].pointer, self._found[slot], FOUND_WORDS * 4)
        self._slices += 1
        event = card.event()
        return QueuedCall(partial(self._differences, slot, event), partial(card.has_come, event))

    def _differences(self, slot: int, event: Any) -> Differences:
        self._card.wait(event)
        return differences(self._host[slot].words)

    def reference_failures(self, seed: int) -> int | None:
        """Compare evenly spread results with the bench's processor."""
        if self._reference is None and self._outside is None:
            return None
        index = reference.sample(RESULTS, in_groups=self._in_groups)
        got = self._card.fetch(self._expected, RESULTS)[index]
        if self._outside is not None:
            return self._outside(index, got, seed)
        assert self._reference is not None
        return int((got != self._reference(index, seed)).sum())

    def release(self) -> None:
        """Give its memory back."""
        for pointer in (self._expected, *self._found):
            self._card.free(pointer)


def chains(card: CudaCard, seed: int) -> list[CudaChain]:
    """The chains of compute.cu, and the units of units.cu."""
    steps, turns = reference.STEPS, right.TURNS

    def unit(name: str, kernel: str, operations: int, **how: Any) -> CudaChain:
        expected = how.pop("right", None)
        return CudaChain(card, kernel, name, operations, seed, expected, module="units", **how)

    return [
        CudaChain(card, "integer_chain", "integer", 9, seed, reference.integer_chain),
        CudaChain(card, "exact_chain", "fp32", 7, seed, reference.exact_chain),
        CudaChain(card, "rounded_chain", "fp32 rounded", 3, seed, None),
        unit("fp64", "double_chain", 6, right=right.double_chain),
        unit("int8_dot", "int8_dot", 18, right=right.int8_dot),
        unit(
            "workgroup_memory", "workgroup_memory", 144 * turns // steps,
            right=right.workgroup_memory, in_groups=True,
        ),
        unit("atomics", "atomics", 10 * turns // steps, right=right.atomics, in_groups=True),
        unit("functions", "functions", 1, outside=right.outside_functions_cuda),
    ]
