"""How long a run still takes, as its profile expects it: stage by stage, and in all."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from burnin.core.errors import BurninError
from burnin.profile.loader import profile_of_text
from burnin.profile.model import Stage, stage_name
from burnin.stages.registry import stage_kind


def planned_stages(name: str, file: str, text: str) -> Mapping[str, tuple[Stage, float]]:
    """The stages of a profile as it was read, by their names in a run, with what each should take.

    0 s where nobody can say. Empty for a profile of a newer tool, or with stages that are not
    installed here.
    """
    try:
        stages = profile_of_text(name, file, text).profile.stages
        return {
            stage_name(number, stage): (stage, stage_kind(stage.stage).expected_s(stage))
            for number, stage in enumerate(stages, start=1)
        }
    except BurninError:
        return {}


@dataclass(frozen=True)
class Left:
    """Seconds left of the stage (None: nobody can say) and of the run; whether that is all."""

    stage_s: float | None
    run_s: float
    is_all: bool


class TimeLeft:
    """Keeps count while a run goes on; moments are its elapsed seconds."""

    def __init__(self, expected_s: Mapping[str, float], stages: Iterable[str]) -> None:
        self._to_come = {name: expected_s.get(name, 0.0) for name in stages}
        self._now: tuple[str, float, float] | None = None

    def begins(self, stage: str, expected_s: float, at_s: float) -> None:
        """A stage begins."""
        known_s = expected_s or self._to_come.pop(stage, 0.0)
        self._to_come.pop(stage, None)
        self._now = (stage, known_s, at_s)

    def ends(self, stage: str) -> None:
        """A stage is over, or was left out."""
        self._to_come.pop(stage, None)
        if self._now is not None and self._now[0] == stage:
            self._now = None

    def left(self, at_s: float) -> Left:
        """What is left at a moment."""
        stage_s: float | None = None
        if self._now is not None and self._now[1] > 0.0:
            stage_s = max(0.0, self._now[1] - (at_s - self._now[2]))
        is_all = (self._now is None or self._now[1] > 0.0) and all(self._to_come.values())
        return Left(stage_s, (stage_s or 0.0) + sum(self._to_come.values()), is_all)
