"""By which risk a profile calls a value pass or fail, and what it knows of the card's sensors.

The `[decision]` table of its format; the rule itself is `burnin.core.decision`. An accuracy needs
its source: a data sheet, a calibration with its date.
"""

from __future__ import annotations

from pydantic import Field

from burnin.core.decision import FAIL_SURE, PASS_RISK, DecisionRule, SensorAccuracy
from burnin.profile.parts import Part


class TemperatureAccuracy(Part):
    """How right the card's temperatures are, beyond the steps that they come in."""

    within_k: float = Field(
        default=0.0, ge=0.0, le=20.0, description="half width that the maker states"
    )
    add_k: float = Field(
        default=0.0, ge=-20.0, le=20.0, description="correction, from a calibration"
    )
    add_u_k: float = Field(
        default=0.0, ge=0.0, le=20.0, description="its expanded uncertainty (k = 2)"
    )
    source: str = Field(min_length=3, max_length=200, description="where this is from")


class PowerAccuracy(Part):
    """How right the card's board power is."""

    u_share: float = Field(
        gt=0.0, le=0.5, description="expanded uncertainty (k = 2), as a share of the power"
    )
    source: str = Field(min_length=3, max_length=200, description="where this is from")


class Decision(Part):
    """The accepted risk, and the accuracy of the sensors where somebody states it."""

    pass_risk: float = Field(
        default=PASS_RISK,
        gt=0.0,
        le=0.2,
        description="most chance that a value called pass lies outside its limit",
    )
    fail_sure: float = Field(
        default=FAIL_SURE,
        ge=0.8,
        lt=1.0,
        description="least chance that a value called fail lies outside; between is unsure",
    )
    temperature: TemperatureAccuracy | None = None
    power: PowerAccuracy | None = None

    def rule(self) -> DecisionRule:
        """The rule at this risk."""
        return DecisionRule(self.pass_risk, self.fail_sure)

    def accuracy(self) -> SensorAccuracy:
        """What is known of the sensors; the usual where nothing is stated."""
        found = SensorAccuracy()
        temp, power = self.temperature, self.power
        return SensorAccuracy(
            temp_within_k=temp.within_k if temp else found.temp_within_k,
            temp_add_k=temp.add_k if temp else found.temp_add_k,
            temp_add_u_k=temp.add_u_k if temp else found.temp_add_u_k,
            power_u_share=power.u_share if power else found.power_u_share,
            temp_source=temp.source if temp else "",
            power_source=power.source if power else "",
        )
