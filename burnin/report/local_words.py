"""Figures, days and reasons in the customer's language."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from burnin.record.reader import ReadingRow
from burnin.report.figures import figure, moment, plain
from burnin.report.languages import words_of

_PLACE = re.compile(r"\{([a-z0-9_]+)(?:\.([a-z]+))?\}")


class LocalWords:
    """A language's words, with the shop's time zone; unknown languages raise KeyError."""

    def __init__(self, language: str, time_zone: str = "UTC") -> None:
        self.language = language
        self._words: Mapping[str, Any] = words_of(language)
        try:
            self._zone = ZoneInfo(time_zone)
        except (ZoneInfoNotFoundError, ValueError, OSError):
            self._zone = ZoneInfo("UTC")

    def label(self, key: str) -> str:
        """A label of the sheet."""
        return str(self._words["labels"][key])

    def group(self, name: str) -> Mapping[str, Any]:
        """A whole group of words, such as ``advice``."""
        found: Mapping[str, Any] = self._words[name]
        return found

    def figure(self, text: str) -> str:
        """A figure written with a decimal point, as this language writes it."""
        swap = {".": self._words["decimal"], ",": self._words["thousands"]}
        return "".join(swap.get(c, c) for c in text)

    def day(self, iso_text: str) -> str:
        """The day of a UTC moment in the shop's time zone; what is no moment stays as it is."""
        found = self._local(iso_text)
        if found is None:
            return plain(iso_text, 40)
        return str(self._words["day"]).format(
            day=found.day, month=self._words["months"][found.month - 1], year=found.year
        )

    def moment(self, iso_text: str) -> str:
        """Day and time of a UTC moment in the shop's time zone, to the next full minute."""
        found = self._local(iso_text)
        if found is None:
            return plain(iso_text, 40)
        if found.second or found.microsecond:
            found += timedelta(minutes=1)
        return f"{self.day(iso_text)}, {found:%H:%M}"

    def _local(self, iso_text: str) -> datetime | None:
        found = moment(iso_text)
        return found.astimezone(self._zone) if found else None

    def reason(self, text: str) -> str:
        """A reason in this language where it is a common one, else as it was written."""
        for entry in self._words["reasons"]:
            if text.startswith(entry["match"]):
                return str(entry["text"]) + text.removeprefix(entry["match"])
        return text

    def showed(self, kind: str, readings: Iterable[ReadingRow]) -> str:
        """What a kind of stage showed, in one line; empty where nothing of it was measured."""
        rows = {row.name: row for row in readings}
        parts = []
        for template in self._words["showed"].get(kind, ()):
            said = self._filled(template, rows)
            if said:
                parts.append(said)
        return "; ".join(parts)

    def _filled(self, template: str, rows: Mapping[str, ReadingRow]) -> str:
        values: dict[str, str] = {}
        for name, part in _PLACE.findall(template):
            said = self._value(rows.get(name), part)
            if not said:
                return ""
            values[f"{{{name}.{part}}}" if part else f"{{{name}}}"] = said
        return _PLACE.sub(lambda found: values[found.group(0)], template)

    def _value(self, row: ReadingRow | None, part: str) -> str:
        if row is None or row.verdict == "not measured":
            return ""
        if part == "limit":
            bound = row.upper if row.upper is not None else row.lower
            return "" if bound is None else self.figure(figure(bound))
        if part == "gib":
            return "" if row.number is None else self.figure(f"{row.number / (1 << 30):.4g}")
        if part == "word":
            # What is only probable is for the shop; the customer reads what is known.
            if row.verdict == "unsure":
                return ""
            # A dry block that nobody judges: the loop was known to be missing.
            state = row.value if row.verdict else "no loop"
            return str(self._words["cooling"].get(state, plain(state, 60)))
        if row.number is None:
            return plain(row.value, 60)
        return self.figure(figure(row.number, row.uncertainty))
