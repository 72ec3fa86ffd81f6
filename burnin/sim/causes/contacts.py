"""Causes on the way from the slot to the card: contacts, coupling capacitors, plugs."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, field_validator, model_validator

from burnin.connector.contact_map import beside, contacts
from burnin.sim.causes.cause import Cause, Celsius, ComesAndGoes, Lane, Positive

MovedPlace = Annotated[str, Field(pattern=r"^(free_end|edge|plug [1-4]|cable [A-Z-]+\d+)$")]
"""Where a hand moves the card."""


class ContactCause(ComesAndGoes):
    """One contact of the edge: open, resistive, shorted to ground or to the contact next to it.

    `ohms` is the extra series resistance at 25 °C of a resistive contact, `ohms_per_k` how much
    it gains with every kelvin of the board. `above_board_c` lets the state come only once the
    board is that warm, `after_s`, `every_s` and `for_s` only at times. `at` says whose contact it
    is: the card's own finger, or the spring of the slot or riser that it sits in. `moved_at`: it is
    sound until a hand moves the card there: open from half of the movement on, or with `ohms` in
    proportion to it; ``plug 1`` is the first power plug, ``cable DP-1`` the cable at an output.
    """

    kind: Literal["contact"]
    contact: str
    state: Literal["open", "resistive", "short_to_ground", "short_to_neighbour"]
    at: Literal["card", "slot"] = "card"
    neighbour: str | None = None
    ohms: Positive | None = None
    ohms_per_k: Annotated[float, Field(ge=0.0)] = 0.0
    above_board_c: Celsius | None = None
    moved_at: MovedPlace | None = None

    @field_validator("contact", "neighbour")
    @classmethod
    def _is_a_contact(cls, name: str | None) -> str | None:
        if name is not None and name not in contacts():
            raise ValueError("a contact of the x16 edge is A1 to A82 or B1 to B82")
        return name

    @model_validator(mode="after")
    def _consistent(self) -> ContactCause:
        if (self.state == "resistive") != (self.ohms is not None):
            raise ValueError("ohms (above 0) is needed with state 'resistive' and only there")
        if self.moved_at is not None and self.state.startswith("short"):
            raise ValueError("moved_at goes with state 'open' or 'resistive'")
        if (self.state == "short_to_neighbour") != (self.neighbour is not None):
            raise ValueError("neighbour is needed with state 'short_to_neighbour' and only there")
        if self.neighbour is not None:
            near = [contact.name for contact in beside(contacts()[self.contact])]
            if self.neighbour not in near:
                raise ValueError(f"next to {self.contact} lie {' and '.join(near)}")
        self.check_times()
        return self


class CapacitorCause(ComesAndGoes):
    """A coupling capacitor of the card: in series with one leg of a pair that it transmits.

    It sits between the GPU and a contact of side A, so that contact and capacitor act alike on
    the link and differ for a meter. `leg` is p or n; `ohms` as of a contact.
    """

    kind: Literal["coupling_capacitor"]
    lane: Lane
    leg: Literal["p", "n"]
    state: Literal["open", "resistive"]
    ohms: Positive | None = None
    above_board_c: Celsius | None = None

    @model_validator(mode="after")
    def _consistent(self) -> CapacitorCause:
        if (self.state == "resistive") != (self.ohms is not None):
            raise ValueError("ohms (above 0) is needed with state 'resistive' and only there")
        self.check_times()
        return self


class PlugCause(ComesAndGoes):
    """One contact of a power plug of the card, open.

    `plug` counts the card's `power_plugs` from 0; `contact` is its label there, such as ``4`` of
    an 8-pin plug or ``S3`` of a 12V-2x6 plug.
    """

    kind: Literal["power_plug"]
    plug: Annotated[int, Field(ge=0)]
    contact: str
    state: Literal["open"]

    @model_validator(mode="after")
    def _consistent(self) -> PlugCause:
        self.check_times()
        return self


class SupplyJointCause(Cause):
    """The joint behind a power plug has more resistance than a sound one: `ohms` more.

    `plug` counts the card's `power_plugs` from 0. All of that plug's current comes through it.
    """

    kind: Literal["supply_joint"]
    plug: Annotated[int, Field(ge=0)]
    ohms: Annotated[float, Field(gt=0.0, le=0.1)]
