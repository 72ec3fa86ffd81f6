"""What every part of a profile's format is made of."""

from __future__ import annotations

import unicodedata
from typing import Annotated

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

Share = Annotated[float, Field(ge=0.0, le=1.0)]
Seconds = Annotated[float, Field(gt=0.0, le=86_400.0)]
Celsius = Annotated[float, Field(ge=-20.0, le=125.0)]


_ACTS = ("Cc", "Cf", "Cs", "Zl", "Zp")
"""Categories of Unicode that act where they are shown, or end a line."""


def _can_be_shown(text: str) -> str:
    """It is put on terminals, pages and sheets; raises ValueError for what acts there instead."""
    if any(unicodedata.category(letter) in _ACTS for letter in text):
        raise ValueError("a character here is for control and cannot be shown: leave it out")
    return text


Shown = Annotated[str, AfterValidator(_can_be_shown)]
"""A text of one line that is shown as it stands."""


class Part(BaseModel):
    """A table of the format; unknown fields are refused."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)
