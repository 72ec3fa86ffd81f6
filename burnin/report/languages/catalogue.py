"""A language's catalogue: the one place where a meaning becomes a sentence.

Words lie in files ``<room>.<language>.toml`` in a language's folder, those of a stage kind (and of
a guard, sensor source or engine of another package) beside it as ``words.<language>.toml``; all
files of a language together are its catalogue. A file holds

- ``[says]``: a sentence for each code, with places for its data as in `str.format`; of a stage kind
  also ``stage_<kind>``, its title, and ``stage_<kind>_asks``, what it asks in plain words;
- ``[readings]``: titles of readings by name (what follows a blank in a name is kept);
- ``[words]``: names of states, verdicts and patterns, and titles in shipped profiles;
- ``[units]``: units that differ between languages;
- ``[showed]``: by stage kind, the parts of the line that tells a customer what it showed;
- ``[format]``: signs, months and the order of a day;
- groups of labels for sheets and plots (`word_files.GROUPS`).

A place may say more than a format: ``{value:±uncertainty}`` writes a value with the digits that its
uncertainty leaves; ``{name:reading}`` the title of a reading; ``{parts:, }`` joins several by what
follows the colon, ``{parts:or}`` as alternatives; ``{seconds:duration}`` a span of time;
``{at_utc:moment}`` and ``{at_utc:day}`` a moment; ``{unit:unit}`` a unit; ``{state:word}`` a word;
``{stage:title}`` the title of a stage and ``{stages:titles}`` those of several;
``{counter:counter}`` the name of an error counter; ``{text:typed}`` what somebody typed.
"""

from __future__ import annotations

import math
import string
from collections.abc import Iterable, Mapping, Sequence
from datetime import timedelta
from functools import cache
from typing import Any

from burnin.core.clock import duration, moment_of
from burnin.core.meaning import Meaning
from burnin.core.plain import finite
from burnin.report.languages.counter_names import counter_name
from burnin.report.languages.language import language_names
from burnin.report.languages.moments import zone_named
from burnin.report.languages.numbers import as_known
from burnin.report.languages.one_line import one_line
from burnin.report.languages.plain_names import made_readable
from burnin.report.languages.units import unit_of, usual_unit
from burnin.report.languages.word_files import ORIGINAL, words_of

__all__ = ["ORIGINAL", "Catalogue", "catalogue", "language_names"]

_MOST_TYPED = 100
_JOINS = {"": "; ", "lines": "\n", ", ": ", ", "; ": "; "}
Tables = Mapping[str, Mapping[str, Any]]


class Catalogue:
    """The words of one language; what is missing is told by its code, never left out.

    `time_zone` is the one in which moments are told.
    """

    def __init__(self, code: str, tables: Tables, time_zone: str = "UTC") -> None:
        self.language = code
        self._tables = tables
        self._says, self._readings, self._words = (
            tables.get(name, {}) for name in ("says", "readings", "words")
        )
        self._format: Mapping[str, Any] = tables.get("format", {})
        self._signs = {
            ".": str(self._format.get("decimal", ".")),
            ",": str(self._format.get("thousands", ",")),
        }
        self._zone = zone_named(time_zone)
        self._places = string.Formatter()

    def in_zone(self, time_zone: str) -> Catalogue:
        """The same words with moments told in another time zone (IANA name)."""
        return Catalogue(self.language, self._tables, time_zone)

    def say(self, meaning: Meaning | None) -> str:
        """The sentence of a meaning; empty for None."""
        if meaning is None:
            return ""
        template = self._says.get(meaning.code)
        if template is None:
            return str(meaning)
        data = dict(meaning.data)
        parts: list[str] = []
        for text, name, spec, _ in self._places.parse(template):
            parts.append(text)
            if name is not None:
                parts.append(self._place(data.get(name), spec or "", data))
        return "".join(parts)

    def says(self, meanings: Iterable[Meaning], between: str = "; ") -> str:
        """Several sentences on one line, each once."""
        return between.join(dict.fromkeys(self.say(meaning) for meaning in meanings))

    def knows(self, code: str) -> bool:
        """Whether there is a sentence for this code."""
        return code in self._says

    def template(self, code: str) -> str:
        """A code's sentence with its places unfilled; raises KeyError."""
        return str(self._says[code])

    def reading(self, name: str, *, unit: bool = False) -> str:
        """The title of a reading; with `unit`, its unit follows in brackets.

        ``edid DP-1`` is looked up as ``edid``, and DP-1 is kept.
        """
        head, _, rest = name.partition(" ")
        title = str(self._readings.get(head) or made_readable(head) or head)
        if rest:
            title += f", {' '.join(self._rest(word) for word in rest.split())}"
        found = unit_of(head)
        return f"{title} ({self.unit(found)})" if unit and found not in ("", "bytes") else title

    def names_reading(self, name: str) -> bool:
        """Whether there is a title for this reading, and not one made by rule."""
        return name.partition(" ")[0] in self._readings

    def stage(self, kind: str, own_title: str = "") -> str:
        """The title of a stage: the profile's own, else that of its kind.

        A profile's title is in the shop's language, but for titles of shipped profiles.
        """
        if own_title:
            return self.word(own_title)
        return str(self._says.get(f"stage_{kind}") or made_readable(kind))

    def asks(self, kind: str) -> str:
        """What a kind of stage asks, in plain words."""
        return str(self._says.get(f"stage_{kind}_asks") or self.label("sheet", "no_meaning"))

    def word(self, name: str) -> str:
        """The name of a state or verdict."""
        return str(self._words.get(name, name))

    def counter(self, label: str) -> str:
        """An error counter's name."""
        return counter_name(label, self._words)

    def unit(self, unit: str) -> str:
        """A unit as this language writes it."""
        usual = usual_unit(unit)
        return str(self.group("units").get(usual, usual))

    def group(self, name: str) -> Mapping[str, Any]:
        """A group of labels (`word_files.GROUPS`), or another table, by key."""
        return self._tables.get(name, {})

    def label(self, group: str, name: str) -> str:
        """A label or heading of a sheet; raises KeyError."""
        return str(self.group(group)[name])

    def showed(self, kind: str) -> tuple[str, ...]:
        """The parts of a customer's line on a kind of stage, with places for readings."""
        return tuple(self.group("showed").get(kind, ()))

    def number(self, text: str) -> str:
        """A figure written with a decimal point, as this language writes it."""
        return "".join(self._signs.get(sign, sign) for sign in text)

    def day(self, iso_text: str) -> str:
        """The day of a UTC moment in the time zone; what is no moment stays as it is."""
        found = moment_of(iso_text)
        if found is None:
            return one_line(iso_text, 40)
        local = found.astimezone(self._zone)
        month = self._format["months"][local.month - 1]
        return str(self._format["day"]).format(day=local.day, month=month, year=local.year)

    def moment(self, iso_text: str) -> str:
        """Day and time of a UTC moment in the time zone, to the minute that it lies in."""
        found = moment_of(iso_text)
        if found is None:
            return one_line(iso_text, 40)
        local = found.astimezone(self._zone)
        return f"{self.day(iso_text)}, {local:%H:%M %Z}"

    def moment_after(self, iso_text: str) -> str:
        """Day and local time, to the next full minute: by then the moment has surely passed."""
        found = moment_of(iso_text)
        if found is None:
            return one_line(iso_text, 40)
        if found.second or found.microsecond:
            found = found.replace(second=0, microsecond=0) + timedelta(minutes=1)
        return f"{self.day(found.isoformat())}, {found.astimezone(self._zone):%H:%M}"

    def _rest(self, word: str) -> str:
        return str(self._words.get(word) or word.replace("_", " "))

    def _place(self, value: object, spec: str, data: Mapping[str, object]) -> str:
        if isinstance(value, Meaning):
            return self.say(value)
        if isinstance(value, tuple):
            return self._several(value, spec)
        if isinstance(value, str):
            return self._text(value, spec)
        if isinstance(value, bool):
            return self.word("yes" if value else "no")
        if not isinstance(value, int | float):
            return ""
        if spec == "duration":
            return self.number(duration(_float(value)))
        if spec.startswith("±"):
            return self.number(as_known(_float(value), _float(data.get(spec[1:]))))
        return self.number(_formatted(value, spec))

    def _text(self, value: str, spec: str) -> str:
        how = {
            "reading": self.reading,
            "word": self.word,
            "title": self.word,
            "unit": self.unit,
            "counter": self.counter,
            "typed": _typed,
            "moment": self.moment,
            "stage": self._stage_named,
            "seen": self._seen,
            "day": self.day,
        }.get(spec)
        return how(value) if how else value

    def _stage_named(self, name: str) -> str:
        """The title of a stage by its name in a profile (``6-thermal_ramp``), or by its kind."""
        number, _, kind = name.partition("-")
        return f"{number} {self.stage(kind)}" if number.isdigit() and kind else self.stage(name)

    def _seen(self, name: str) -> str:
        """Damage, or the area where it is, in words; a contact stays as it is."""
        return str(self.group("seen").get(name, name))

    def _several(self, values: Sequence[object], spec: str) -> str:
        inner = {"titles": "title"}.get(spec, spec if spec in ("reading", "word") else "")
        told = list(dict.fromkeys(self._place(value, inner, {}) for value in values))
        if spec == "or" and len(told) > 1:
            return f"{', '.join(told[:-1])} {self.word('or')} {told[-1]}"
        return _JOINS.get(spec, ", ").join(told)


@cache
def catalogue(code: str = ORIGINAL) -> Catalogue:
    """All words of a language, ours and those of registered stages; raises BadInput.

    Where a language lacks a word, the original stands in for it.
    """
    return Catalogue(code, words_of(code))


def _formatted(value: float, spec: str) -> str:
    """A number in a format of Python's; a record may hold what the format was not made for."""
    for way in (spec or "g", "g"):
        try:
            return format(value, way)
        except (ValueError, OverflowError):
            continue
    # An integer without bounds, as JSON may hold one.
    return f"{'-' if value < 0 else ''}10^{int(math.log10(abs(value)))}"


def _typed(text: str) -> str:
    """What somebody typed, or a file held, short and on one line."""
    return one_line(text, _MOST_TYPED)


def _float(value: object) -> float:
    number = finite(value)
    return math.nan if number is None else number
