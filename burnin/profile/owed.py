"""What a profile owes: the `[[owed]]` tables of its format, as codes."""

from __future__ import annotations

from pydantic import Field, model_validator

from burnin.core.verdict import OwedWork
from burnin.profile.meanings import ProfileOwed, ProfileReason
from burnin.profile.parts import Part


class OwedByProfile(Part):
    """What this profile cannot prove by itself, and why; the run stays conditional."""

    work: ProfileOwed = Field(description="what somebody must still do")
    because: ProfileReason = Field(description="why this profile cannot do it")

    @model_validator(mode="before")
    @classmethod
    def _codes_not_text(cls, given: object) -> object:
        if isinstance(given, dict) and given.keys() & {"what", "reason"}:
            works = ", ".join(code.value for code in ProfileOwed)
            reasons = ", ".join(code.value for code in ProfileReason)
            raise ValueError(
                "what and reason were free text in an earlier form; write work = one of"
                f" {works}, and because = one of {reasons}"
            )
        return given

    def as_owed(self) -> OwedWork:
        """As a run owes it; it belongs to no stage."""
        return OwedWork("", self.work(), self.because())
