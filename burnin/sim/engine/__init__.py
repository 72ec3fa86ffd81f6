"""Works the card of a simulated machine: time, power and errors come from its physical state."""

from burnin.sim.engine.engine import SimulatedEngine

__all__ = ["SimulatedEngine"]
