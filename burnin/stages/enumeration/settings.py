"""What a profile says of enumeration: who the card must be."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from burnin.profile.stage_settings import StageSettings

HexId = Annotated[str, Field(pattern=r"^0x[0-9a-f]{4}$")]


class Enumeration(StageSettings):
    """The card is there, as itself."""

    stage: Literal["enumeration"]
    vendor_ids: tuple[HexId, ...] = ()
    device_ids: tuple[HexId, ...] = ()
    subsystem_ids: tuple[HexId, ...] = ()
    class_codes: tuple[Literal["0x0300", "0x0302", "0x0380", "0x1200"], ...] = (
        "0x0300",
        "0x0302",
        "0x0380",
        "0x1200",
    )
    memory_at_least_gib: float | None = Field(default=None, gt=0.0, le=1024.0)
    firmware_versions: tuple[str, ...] = ()
    cards_expected: int = Field(default=1, ge=1, le=16)
    driver_needed: bool = True
