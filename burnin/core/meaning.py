"""Meaning as a code with data: what is meant, before anybody words it in a language.

A room lists its codes in an enum; calling a member with the data that it names makes the meaning:

>>> class LampReason(ReasonCode):
...     TOO_DIM = "lamp_too_dim", "light_lx", "needed_lx"
>>> why = LampReason.TOO_DIM(light_lx=20.0, needed_lx=50.0)
>>> why.code, why["light_lx"], why.means(LampReason.TOO_DIM)
('lamp_too_dim', 20.0, True)

Numbers carry their unit in the name of the data. Sentences are made at the edge, from one catalogue
a language (`burnin.report.languages`); no code reads one.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import Enum
from operator import attrgetter
from typing import Self, TypeAlias, TypeVar

_VALUE = attrgetter("_value_")
"""The code of a `Code` without the descriptor behind `value`: asked of every row."""
Value: TypeAlias = "str | int | float | bool | Meaning | tuple[Value, ...] | None"
"""What may be the data of a meaning; text is a name or somebody's own words, never ours."""


@dataclass(frozen=True, eq=False)
class Meaning:
    """A code with its data, in the order in which the code names them.

    Equal where code and data are: what a record gives back equals what was put on it.
    """

    code: str
    data: tuple[tuple[str, Value], ...] = ()

    def __eq__(self, other: object) -> bool:
        """Whether both mean the same."""
        same = isinstance(other, Meaning) and self.code == other.code
        return same and isinstance(other, Meaning) and self.data == other.data

    def __hash__(self) -> int:
        """By code and data."""
        return hash((self.code, self.data))

    def __getitem__(self, name: str) -> Value:
        """A value by its name; None where a record of another hand or version lacks it."""
        return dict(self.data).get(name)

    def __str__(self) -> str:
        """For a log: the code and its data; people get the words of a catalogue."""
        told = ", ".join(f"{name}={value}" for name, value in self.data)
        return f"{self.code}({told})" if told else self.code

    def means(self, *codes: Code) -> bool:
        """Whether this is one of the codes, whatever its data."""
        return self.code in map(_VALUE, codes)

    def parts(self) -> Iterator[Meaning]:
        """This meaning and every meaning inside its data, outermost first."""
        yield self
        for _, value in self.data:
            yield from _inside(value)

    def as_plain(self) -> dict[str, object]:
        """As JSON holds it: ``{"code": …, name: value, …}``."""
        return {"code": self.code, **{name: _plain(value) for name, value in self.data}}

    @classmethod
    def from_plain(cls, content: Mapping[str, object]) -> Self:
        """Back from JSON; meanings inside become `Meaning`. Raises ValueError."""
        code = content.get("code")
        if not isinstance(code, str) or not code:
            raise ValueError(f"not a meaning, it has no code: {str(content)[:80]}")
        data = ((k, _from_plain(v)) for k, v in content.items() if k != "code")
        return cls(code, tuple(data))


class Reason(Meaning):
    """Why something is as it is: why a reading failed, was not taken, why a load was ended."""


class Cause(Meaning):
    """What is suspected."""


class Check(Meaning):
    """What to look at or do next."""


class Owed(Meaning):
    """Work that somebody must still do."""


class Prompt(Meaning):
    """What the technician is asked."""


class Note(Meaning):
    """Something worth saying while a run goes on: a line of the journal, a promise, a warning."""


class Source(Meaning):
    """Where a value is from, and how it was made."""


class Term(Meaning):
    """The name of a thing that has a name in every language: a stage, a state, a part."""


class Code(Enum):
    """What a room can mean; written ``NAME = "code", "first_datum_unit", …``.

    The code is unique in the whole tool and stays as it is once a record holds it.
    """

    fields: tuple[str, ...]
    _value_: str

    def __new__(cls, code: str, *fields: str) -> Self:
        """A member: its value is the code, `fields` the names of its data."""
        member = object.__new__(cls)
        member._value_ = code
        member.fields = fields
        return member

    def pairs(self, given: Mapping[str, Value]) -> tuple[tuple[str, Value], ...]:
        """The data in their order; raises TypeError where one is missing or surplus."""
        if given.keys() != set(self.fields):
            raise TypeError(
                f"{self.value} takes {', '.join(self.fields) or 'no data'};"
                f" given: {', '.join(given) or 'none'}"
            )
        return tuple((name, given[name]) for name in self.fields)


class ReasonCode(Code):
    """Codes of reasons."""

    def __call__(self, **data: Value) -> Reason:
        """The reason with its data."""
        return Reason(self.value, self.pairs(data))


class CauseCode(Code):
    """Codes of suspected causes."""

    def __call__(self, **data: Value) -> Cause:
        """The cause with its data."""
        return Cause(self.value, self.pairs(data))


class CheckCode(Code):
    """Codes of what to look at or do next."""

    def __call__(self, **data: Value) -> Check:
        """The check with its data."""
        return Check(self.value, self.pairs(data))


class OwedCode(Code):
    """Codes of work that is owed."""

    def __call__(self, **data: Value) -> Owed:
        """The work with its data."""
        return Owed(self.value, self.pairs(data))


class PromptCode(Code):
    """Codes of prompts."""

    def __call__(self, **data: Value) -> Prompt:
        """The prompt with its data."""
        return Prompt(self.value, self.pairs(data))


class NoteCode(Code):
    """Codes of notes."""

    def __call__(self, **data: Value) -> Note:
        """The note with its data."""
        return Note(self.value, self.pairs(data))


class SourceCode(Code):
    """Codes of sources of values."""

    def __call__(self, **data: Value) -> Source:
        """The source with its data."""
        return Source(self.value, self.pairs(data))


class TermCode(Code):
    """Codes of names."""

    def __call__(self, **data: Value) -> Term:
        """The name with its data."""
        return Term(self.value, self.pairs(data))


M = TypeVar("M", bound=Meaning)


def distinct(meanings: Iterator[M] | tuple[M, ...] | list[M]) -> tuple[M, ...]:
    """Each meaning once, in the first order."""
    return tuple(dict.fromkeys(meanings))


def _inside(value: Value) -> Iterator[Meaning]:
    if isinstance(value, Meaning):
        yield from value.parts()
    elif isinstance(value, tuple):
        for part in value:
            yield from _inside(part)


def _plain(value: Value) -> object:
    if isinstance(value, Meaning):
        return value.as_plain()
    if isinstance(value, tuple):
        return [_plain(part) for part in value]
    return value


def _from_plain(value: object) -> Value:
    if isinstance(value, Mapping):
        return Meaning.from_plain(value)
    if isinstance(value, list | tuple):
        return tuple(_from_plain(part) for part in value)
    if value is None or isinstance(value, str | int | float | bool):
        return value
    raise ValueError(f"not the data of a meaning: {str(value)[:80]}")
