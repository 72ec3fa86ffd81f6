"""How many watts the cards of a bench may draw together, by its supply and its circuit.

The circuit feeds what else hangs on it, and the supply with its losses; the supply feeds the bench
itself, and the cards. What is less bounds the cards. Where nobody names the supply's efficiency it
is 0.8, which voluntary labels ask for at full load (from memory); what a card at rest is counted at
is common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from pydantic import BaseModel, ConfigDict, Field, model_validator


@dataclass(frozen=True)
class Budget:
    """Watts for all cards together, and how fast they may rise, W/s (None: as they do).

    `rest_w`: what a card at rest is counted at, at least. `card_w_at_most`: what a card may draw
    that tells no limit of its own; None where nobody says.
    """

    watts: float
    rest_w: float = 50.0
    step_w_per_s: float | None = None
    card_w_at_most: float | None = None


class PowerOfBench(BaseModel):
    """The table [power] of the shop file: what supply and circuit carry, in W."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, allow_inf_nan=False)

    supply_w: float | None = Field(
        default=None, gt=0.0, le=20_000.0, description="what the supply gives for long"
    )
    circuit_w: float | None = Field(
        default=None, gt=0.0, le=50_000.0, description="what the circuit carries for long"
    )
    bench_w: float = Field(
        ge=0.0, le=10_000.0, description="what the bench itself draws from the supply, cards aside"
    )
    beside_w: float = Field(
        default=0.0, ge=0.0, le=50_000.0, description="what else hangs on the circuit"
    )
    supply_efficiency: float = Field(
        default=0.8, gt=0.3, le=1.0, description="the supply's, at full load"
    )
    step_w_per_s: float | None = Field(
        default=None, gt=0.0, le=50_000.0, description="fastest rise of all cards together"
    )
    card_rests_w: float = Field(
        default=50.0, ge=1.0, le=500.0, description="what a card at rest is counted at, at least"
    )
    card_w_at_most: float | None = Field(
        default=None, gt=0.0, le=2000.0, description="what a card may draw that tells no limit"
    )

    @model_validator(mode="after")
    def _leaves_something(self) -> PowerOfBench:
        if self.supply_w is None and self.circuit_w is None:
            raise ValueError("name supply_w, circuit_w or both: nothing bounds the cards otherwise")
        if self._watts() <= 0.0:
            raise ValueError(
                f"bench_w = {self.bench_w:g} and beside_w = {self.beside_w:g} leave nothing of"
                " supply_w and circuit_w for a card"
            )
        return self

    def budget(self) -> Budget:
        """What the cards may draw."""
        return Budget(self._watts(), self.card_rests_w, self.step_w_per_s, self.card_w_at_most)

    def _watts(self) -> float:
        bounds = []
        if self.supply_w is not None:
            bounds.append(self.supply_w)
        if self.circuit_w is not None:
            bounds.append((self.circuit_w - self.beside_w) * self.supply_efficiency)
        return min(bounds) - self.bench_w
