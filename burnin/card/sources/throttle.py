"""Why a card runs slower than it could, from the drivers that tell it.

xe shows ``tile#/gt#/freq0/throttle`` with one file a reason (Linux Documentation/gpu/xe, "Xe GT
Throttle"). Other drivers tell nothing that a kernel document names, and nothing is guessed for
them.
"""

from __future__ import annotations

import re

from burnin.card.attributes import Attributes
from burnin.card.files import BenchFiles
from burnin.card.sources.meanings import LinuxReason
from burnin.core.reading import NotMeasured, known
from burnin.core.sample import Slowdown

SLOWDOWNS: dict[str, tuple[Slowdown, ...]] = {
    "reason_pl1": (Slowdown.SUSTAINED_POWER,),
    "reason_pl2": (Slowdown.BURST_POWER,),
    "reason_pl4": (Slowdown.PEAK_CURRENT,),
    "reason_thermal": (Slowdown.HEAT,),
    "reason_prochot": (Slowdown.HEAT, Slowdown.HOT_SIGNAL),
    "reason_ratl": (Slowdown.HEAT, Slowdown.AVERAGE_TEMPERATURE),
    "reason_vr_thermalert": (Slowdown.HEAT, Slowdown.REGULATOR_HOT),
    "reason_vr_tdc": (Slowdown.REGULATOR_CURRENT,),
}
"""Files of xe's throttle folder and what they mean."""

_TILE = re.compile(r"tile\d+", re.ASCII)
_GT = re.compile(r"gt\d+", re.ASCII)


class ThrottleFiles:
    """The throttle folders of one card; looked up once."""

    def __init__(self, files: BenchFiles, folder: str) -> None:
        self._card = Attributes(files, folder)
        self._folders: tuple[Attributes, ...] | None = None

    def read(self) -> tuple[Slowdown, ...] | NotMeasured:
        """The reasons that hold now, in a fixed order; empty: none."""
        if self._folders is None:
            self._folders = self._find()
        if not self._folders:
            return NotMeasured(LinuxReason.SLOWDOWN_UNTOLD())
        found: list[Slowdown] = []
        for folder in self._folders:
            status = folder.integer("status")
            if isinstance(status, NotMeasured):
                return status
            if status == 0:
                continue
            for name, slowdowns in SLOWDOWNS.items():
                if known(folder.integer(name)):
                    found.extend(slowdowns)
        return tuple(dict.fromkeys(found))

    def _find(self) -> tuple[Attributes, ...]:
        found: list[Attributes] = []
        for tile in self._card.names():
            if _TILE.fullmatch(tile) is None:
                continue
            for gt in self._card.below(tile).names():
                throttle = self._card.below(f"{tile}/{gt}/freq0/throttle")
                if _GT.fullmatch(gt) is not None and "status" in throttle.names():
                    found.append(throttle)
        return tuple(found)
