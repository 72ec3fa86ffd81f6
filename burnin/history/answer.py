"""A question and its answer: columns by code, rows of plain cells, and what the answer rests on."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeAlias

from burnin.core.meaning import Meaning, Note
from burnin.history.headings import Heading
from burnin.history.opened import Expression, History

Cell: TypeAlias = "str | int | float | bool | Meaning | None"
Rows: TypeAlias = Sequence[dict[str, Any]]


@dataclass(frozen=True)
class Asked:
    """What somebody wants to know: within how many `days`, parted by what, of which card.

    `simulated`: of the simulated machine alone; otherwise of real cards alone.
    """

    days: float = 90.0
    by: str = ""
    card: str = ""
    simulated: bool = False


@dataclass(frozen=True)
class Course:
    """A line with its band over time or days, for a plot."""

    name: str
    at: tuple[float, ...]
    value: tuple[float, ...]
    low: tuple[float, ...] = ()
    high: tuple[float, ...] = ()


@dataclass(frozen=True)
class Drawn:
    """What an answer looks like: courses, or each row's value with its interval.

    `limit`: a level that is drawn across.
    """

    across: Heading
    up: Heading
    courses: tuple[Course, ...] = ()
    names: tuple[str, ...] = ()
    values: tuple[tuple[float, float, float], ...] = ()
    limit: float | None = None


@dataclass(frozen=True)
class Answer:
    """The rows, their columns, and notes on what they rest on and do not tell."""

    columns: tuple[Heading, ...]
    rows: tuple[tuple[Cell, ...], ...]
    notes: tuple[Note, ...] = ()
    drawn: Drawn | None = None


@dataclass(frozen=True)
class Question:
    """A named question; `ways`: by what it can be parted, the first where nobody says.

    `rows` gives the expression over the tables, `answer` makes the answer of its rows.
    """

    name: str
    title: Heading
    rows: Callable[[History, Asked], Expression]
    answer: Callable[[Rows, Asked], Answer]
    ways: tuple[str, ...] = field(default=())
