"""The source ``linux``: cards of any vendor, from what the kernel shows in sysfs, hwmon and DRM."""

from __future__ import annotations

from collections.abc import Mapping

from burnin.card.attributes import Attributes
from burnin.card.files import BenchFiles
from burnin.card.source import CardPlace
from burnin.card.sources.linux_bench import describe
from burnin.card.sources.linux_card import LinuxCard
from burnin.card.sources.pci_devices import DEVICES, find_cards
from burnin.card.sources.pci_names import PciNames
from burnin.core.reading import NotMeasured, known


class LinuxSource:
    """See `burnin.card.source`: it finds the cards, describes the bench and reads every card."""

    name = "linux"

    def find(self, files: BenchFiles) -> Mapping[str, int | None]:
        """Every card on the bus; none where the bus cannot be listed."""
        addresses = find_cards(files)
        if isinstance(addresses, NotMeasured):
            return {}
        return {
            address: known(Attributes(files, f"{DEVICES}/{address}").hexadecimal("vendor"))
            for address in addresses
        }

    def probe(self, place: CardPlace) -> LinuxCard:
        """A reader of any card."""
        names = PciNames(place.files)
        return LinuxCard(place.files, place.address, names, simulated=place.simulated)

    def describe(
        self, files: BenchFiles, *, this_machine: bool  # noqa: ARG002 - the files say it all
    ) -> Mapping[str, str | NotMeasured]:
        """System, kernel, processor, memory, board, boot."""
        return describe(files)


SOURCE = LinuxSource()
