"""The bench: its cards, each made of what every registered source tells of it.

`open_bench` asks every member of the seam `burnin.sources` which cards there are, and for a reader
of each; `burnin.card.merged_card` makes one card of a card's readers.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import cast

from burnin.card.capabilities import Bench
from burnin.card.files import BenchFiles
from burnin.card.meanings import CardReason
from burnin.card.merged_card import MergedCard
from burnin.card.source import CardPlace, DescribesBench, FindsCards, Reader, SensorSource
from burnin.core import seams
from burnin.core.reading import NotMeasured


class MergedBench:
    """The bench whose cards are read through every source that has a reader of them."""

    def __init__(
        self,
        files: BenchFiles,
        sources: Mapping[str, SensorSource],
        *,
        this_machine: bool = False,
        simulated: bool = False,
    ) -> None:
        self._files = files
        self._sources = sources
        self._this_machine = this_machine
        self._simulated = simulated

    def cards(self) -> tuple[MergedCard, ...]:
        """Every card that a source finds, in bus order."""
        found: dict[str, int | None] = {}
        for source in self._sources.values():
            if isinstance(source, FindsCards):
                found |= source.find(self._files)
        return tuple(self._card(address, found[address]) for address in sorted(found))

    def _card(self, address: str, vendor_id: int | None) -> MergedCard:
        place = CardPlace(self._files, address, vendor_id, self._this_machine, self._simulated)
        readers: dict[str, Reader] = {}
        left_out: dict[str, NotMeasured] = {}
        for name, source in self._sources.items():
            reader = _probed(name, source, place)
            if isinstance(reader, NotMeasured):
                left_out[name] = reader
            else:
                readers[name] = reader
        return MergedCard(place, readers, left_out)

    def description(self) -> dict[str, str | NotMeasured]:
        """Facts for the record, of the bench and of the sources themselves."""
        facts: dict[str, str | NotMeasured] = {}
        for source in self._sources.values():
            if isinstance(source, DescribesBench):
                facts |= source.describe(self._files, this_machine=self._this_machine)
        return facts


def open_bench(files: BenchFiles, *, this_machine: bool, simulated: bool = False) -> Bench:
    """The bench behind `files`, read through every registered source.

    `this_machine`: the files are those of the very machine that this program runs on.
    """
    sources = cast("dict[str, SensorSource]", seams.members("sources"))
    return MergedBench(files, sources, this_machine=this_machine, simulated=simulated)


def _probed(name: str, source: SensorSource, place: CardPlace) -> Reader | NotMeasured:
    """A source's reader of a card; what goes wrong in a source costs that source alone."""
    try:
        return source.probe(place)
    except Exception as error:
        raised = CardReason.SOURCE_RAISED(
            source=name, error=type(error).__name__, words=str(error)
        )
        return NotMeasured(raised)
