"""What the jobs ask of an API that works a card: memory, arithmetic, results, copies."""

from __future__ import annotations

from typing import Protocol, runtime_checkable

from burnin.core.opening import EngineDescription
from burnin.engine.device.area import AreaFound, AreaWanted
from burnin.engine.device.units import ArithmeticUnit, Copier, UnitsFound


class Device(Protocol):
    """An opened card, or a software adapter."""

    def description(self) -> EngineDescription:
        """What works the card."""
        ...

    def take_area(self, wanted: AreaWanted) -> AreaFound:
        """Take memory to test; raises EngineError when there is too little."""
        ...

    def arithmetic(self) -> ArithmeticUnit:
        """The kernel of the arithmetic load."""
        ...

    def compute_units(self, seed: int) -> UnitsFound:
        """Every unit whose results can be repeated, and what is not offered."""
        ...

    def copier(self, direction: str, seed: int) -> Copier:
        """Copies ``to_card``, ``to_host`` or ``both`` ways."""
        ...

    def close(self) -> None:
        """Let go of the card."""
        ...


@runtime_checkable
class WorksBeside(Protocol):
    """A device that can do several things at the same moment."""

    def beside(self) -> Device:
        """The same card; what it is given to do waits for nothing that others give it."""
        ...
