"""The source ``nvml``: cards of NVIDIA, asked through their driver's own library."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Protocol, runtime_checkable

from burnin.card.files import BenchFiles
from burnin.card.source import CardPlace
from burnin.card.sources.meanings import NvmlReason
from burnin.card.sources.nvml_card import NvmlCard
from burnin.card.sources.nvml_library import NvmlQuestions, open_handle, open_library
from burnin.core.reading import NotMeasured

VENDOR_ID = 0x10DE
"""PCI vendor number of NVIDIA."""


@runtime_checkable
class HoldsNvml(Protocol):
    """Files of a bench that was recorded, with what the library answered there."""

    def nvml(self, address: str) -> Any | None:
        """In the library's place for a card; None where none was asked of it."""
        ...


class NvmlSource:
    """See `burnin.card.source`: reads cards of NVIDIA on the machine that this program runs on."""

    name = "nvml"

    def __init__(self) -> None:
        self._opened: Any | None = None

    def probe(self, place: CardPlace) -> NvmlCard | NotMeasured:
        """A reader of a card of NVIDIA; the library is opened for such a card only."""
        if isinstance(place.files, HoldsNvml):
            recorded = place.files.nvml(place.address)
            if recorded is not None:
                return NvmlCard(recorded, None)
        if not place.this_machine:
            return NotMeasured(NvmlReason.OTHER_MACHINE())
        if place.vendor_id != VENDOR_ID:
            return NotMeasured(NvmlReason.OTHER_VENDOR())
        library = self._library()
        if isinstance(library, NotMeasured):
            return library
        handle = open_handle(library, place.address)
        return handle if isinstance(handle, NotMeasured) else NvmlCard(library, handle)

    def describe(
        self, files: BenchFiles, *, this_machine: bool  # noqa: ARG002 - NVML reads no files
    ) -> Mapping[str, str | NotMeasured]:
        """NVML's version, or why it is not used."""
        if not this_machine:
            return {}
        library = self._library()
        if isinstance(library, NotMeasured):
            return {"nvml": library}
        version = NvmlQuestions(library, None).of_driver("nvmlSystemGetNVMLVersion")
        return {"nvml": version if isinstance(version, NotMeasured) else str(version)}

    def _library(self) -> Any | NotMeasured:
        """The library, opened once; where that failed it is tried again."""
        if self._opened is None:
            library = open_library()
            if isinstance(library, NotMeasured):
                return library
            self._opened = library
        return self._opened


SOURCE = NvmlSource()
