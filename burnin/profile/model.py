"""A profile: what a class of card must show. The format of `profiles/*.toml`.

Every field has its unit in its name and its permitted range in the JSON Schema. What a stage may be
given is its own kind's affair: all kinds registered in the seam ``burnin.stages`` are admitted.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal, TypeAlias, Union, get_args

from pydantic import Field, model_validator

from burnin.core.errors import BadInput
from burnin.core.seams import members
from burnin.profile.before_power import BeforePower
from burnin.profile.decision import Decision
from burnin.profile.guards import Guards
from burnin.profile.owed import OwedByProfile
from burnin.profile.parts import Part, Shown
from burnin.profile.stage_settings import StageSettings
from burnin.profile.under_load import UnderLoadPoint


def registered_settings() -> tuple[type[StageSettings], ...]:
    """Settings of every registered kind of stage; raises BadInput for one that brings none."""
    found = []
    for name, kind in members("stages").items():
        settings = getattr(kind, "settings", None)
        if not (isinstance(settings, type) and issubclass(settings, StageSettings)):
            raise BadInput(f"stage {name!r} is registered without settings (a StageSettings)")
        if get_args(settings.model_fields["stage"].annotation) != (name,):
            raise BadInput(
                f"stage {name!r}: {settings.__name__}.stage must be Literal[{name!r}]"
            )
        found.append(settings)
    if not found:
        raise BadInput("no kind of stage is registered: install this package with pip")
    return tuple(found)


if TYPE_CHECKING:
    Stage: TypeAlias = StageSettings
else:
    Stage = Annotated[Union[registered_settings()], Field(discriminator="stage")]  # noqa: UP007


UNDER_LOAD = "under_load"
"""The kind of stage that measures the points of a profile."""
_MOST_PERIOD_S = 0.2


class Pace(Part):
    """How often the card is read."""

    sample_interval_s: float = Field(default=0.1, ge=0.02, le=5.0)

    @property
    def period_s(self) -> float:
        """Time between two samples in seconds: what was asked for, but never more than 0.2.

        A load goes on only while its watch does: without a fresh sample it rests after 0.25 s.
        """
        return min(self.sample_interval_s, _MOST_PERIOD_S)


class Profile(Part):
    """What a class of card must show: stages in order, their limits, their guards."""

    format: Literal[1]
    title: Shown = Field(min_length=3, max_length=80)
    description: str = Field(default="", max_length=600)
    pace: Pace = Pace()
    decision: Decision = Decision()
    guards: Guards
    before_power: tuple[BeforePower, ...] = Field(
        default=(), description="what is measured on the unpowered card"
    )
    under_load: tuple[UnderLoadPoint, ...] = Field(
        default=(), description="what is measured while the stage under_load holds its power"
    )
    stages: tuple[Stage, ...] = Field(min_length=1)
    owed: tuple[OwedByProfile, ...] = ()

    @model_validator(mode="after")
    def _stages_and_guards_agree(self) -> Profile:
        faults = [
            f"stages[{index}].{fault}"
            for index, stage in enumerate(self.stages)
            for fault in stage.faults(self.guards)
        ]
        faults += self._of_points()
        faults += [f"guards.{fault}" for fault in self.guards.beyond_sense()]
        nothing = [stage.judges_nothing() for stage in self.stages]
        if all(nothing):
            faults += [
                f"stages[{index}].{field}: no stage of this profile judges anything of a card, so"
                " that a pass would say nothing"
                for index, field in enumerate(nothing)
            ]
        if faults:
            raise ValueError("; ".join(faults))
        return self

    def _of_points(self) -> list[str]:
        """Whether points and the stage that measures them are there together."""
        stands = any(stage.stage == UNDER_LOAD for stage in self.stages)
        names = [point.name for point in self.under_load]
        faults = [
            f"under_load[{index}].name = {name!r}: another point has this name"
            for index, name in enumerate(names)
            if name in names[:index]
        ]
        if self.under_load and not stands:
            faults.append(f"under_load: no stage = {UNDER_LOAD!r} measures these points")
        if stands and not self.under_load:
            faults.append(f"stages: {UNDER_LOAD!r} has no point: name them in [[under_load]]")
        return faults


def stage_name(position: int, stage: Stage) -> str:
    """Name of a stage in a record, e.g. ``4-memory``; positions count from 1."""
    return f"{position}-{stage.stage}"
