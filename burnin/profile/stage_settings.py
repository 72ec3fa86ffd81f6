"""What every stage may be given; a kind of stage adds its own fields (`burnin.stages`)."""

from __future__ import annotations

from collections.abc import Iterator

from pydantic import Field

from burnin.profile.guards import Guards
from burnin.profile.parts import Celsius, Part, Seconds, Shown


class StageSettings(Part):
    """What every stage may be given; a kind narrows `stage` to the Literal of its name."""

    stage: str
    title: Shown = Field(default="", max_length=60)
    cool_below_c: Celsius | None = Field(
        default=None, description="wait before the stage until the GPU is below this"
    )
    cool_wait_s: Seconds = Field(default=600.0, description="longest wait for that")
    optional: tuple[str, ...] = Field(
        default=(), description="readings without which the run may still pass"
    )

    def faults(self, guards: Guards) -> Iterator[str]:  # noqa: ARG002
        """What the guards of the profile do not let this stage do; each begins with its field."""
        return iter(())

    def judges_nothing(self) -> str:
        """By which of its fields this stage judges nothing of a card; empty: it judges
        something.
        """
        return ""
