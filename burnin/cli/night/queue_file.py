"""The file of a night's queue, as the technician writes it: hours, cards and tickets in order."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Annotated

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError, model_validator

from burnin.core.errors import BadInput
from burnin.profile.diagnostics import explain, read_toml

_TIME = r"([01]\d|2[0-3]):[0-5]\d"


def _written(pattern: str, example: str) -> AfterValidator:
    def check(text: str) -> str:
        if not re.fullmatch(pattern, text):
            raise ValueError(f"write it as {example}")
        return text

    return AfterValidator(check)


TimeOfDay = Annotated[str, _written(_TIME, "20:00")]
Span = Annotated[str, _written(f"{_TIME}-{_TIME}", "22:00-05:30")]
Address = Annotated[
    str, _written(r"|([0-9a-fA-F]{4,8}:)?[0-9a-fA-F]{2}:[0-9a-fA-F]{2}\.[0-7]", "01:00.0")
]


def whole_address(text: str) -> str:
    """A card's address with its domain, as the bench tells it."""
    named = text.strip().lower()
    return named if not named or named.count(":") == 2 else f"0000:{named}"


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


class QueuedCard(_Table):
    """One card of the queue: by its ticket, by its address, or by both."""

    ticket: str = Field(default="", max_length=80, description="its card is found if bound")
    card: Address = Field(default="", max_length=40, description="PCI address")
    profile: str = Field(default="", description="where neither ticket nor shop file names one")

    @model_validator(mode="after")
    def _named(self) -> QueuedCard:
        if not (self.ticket or self.card):
            raise ValueError("a card is named by its ticket, its address (card), or both")
        return self


class QueueFile(_Table):
    """The whole file; moments are of the shop's time zone."""

    begins: TimeOfDay | None = Field(
        default=None, alias="from", description="nothing begins before; left out: at once"
    )
    until: TimeOfDay | None = Field(
        default=None, description="nothing begins after, and what goes on is stopped in order"
    )
    quiet: tuple[Span, ...] = Field(
        default=(), description="hours in which nothing begins; what goes on goes on"
    )
    cards: tuple[QueuedCard, ...] = Field(min_length=1)

    @model_validator(mode="after")
    def _each_once(self) -> QueueFile:
        """A card that is queued twice would count as two."""
        tickets = [one.ticket for one in self.cards if one.ticket]
        places = [whole_address(one.card) for one in self.cards if one.card]
        named = ((name, kind) for kind in (tickets, places) for name in kind)
        twice = sorted({name for name, kind in named if kind.count(name) > 1})
        if twice:
            raise ValueError(f"{', '.join(twice)} is queued twice; each card stands there once")
        return self


def load_queue(path: Path) -> QueueFile:
    """The file read; raises BadInput with a line for each fault."""
    try:
        text, content = read_toml(path)
    except ValueError as error:
        raise BadInput(str(error)) from error
    try:
        return QueueFile.model_validate_json(json.dumps(content, default=str))
    except ValidationError as error:
        raise BadInput(explain(error, str(path), text)) from error
    except (ValueError, RecursionError) as error:
        raise BadInput(f"{path}: cannot be used: {error}") from error
