"""Works the card of a simulated machine: time, power and errors come from its physical state."""

from burnin.engine.simulated.engine import SimulatedEngine

__all__ = ["SimulatedEngine"]
