"""The journal of a run, read back: its events but samples, readings and progress."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeVar

from burnin.core.events import CounterAt, CountersRead, TrafficSummed
from burnin.core.foreseen import Foreseen, StillLikely
from burnin.core.meaning import Cause, Check, Meaning, Note, Prompt, Reason
from burnin.core.plain import finite
from burnin.record.schema.tables import JournalRow

M = TypeVar("M", bound=Meaning)


@dataclass(frozen=True)
class JournalEntry:
    """One line of journal.csv; `detail` holds the event's own fields as JSON does."""

    elapsed_s: float
    time_utc: str
    event: str
    stage: str
    detail: Mapping[str, object]

    def note(self, key: str = "note") -> Note | None:
        """The note under `key`; None where there is none."""
        return self._meaning(Note, key)

    def reason(self, key: str = "reason") -> Reason | None:
        """The reason under `key`; None where there is none."""
        return self._meaning(Reason, key)

    def cause(self, key: str = "suspect") -> Cause | None:
        """The cause under `key`; None where there is none."""
        return self._meaning(Cause, key)

    def check(self, key: str = "check") -> Check | None:
        """What to look at, under `key`; None where there is none."""
        return self._meaning(Check, key)

    def likely(self) -> tuple[StillLikely, ...]:
        """The causes that a stop left likely, in order; none in a record older than that."""
        told = self.detail.get("likely")
        found = (_still_likely(one) for one in (told if isinstance(told, list) else ()))
        return tuple(one for one in found if one is not None)

    def foreseen(self) -> tuple[Foreseen, ...]:
        """The band of a forecast; empty where it had none, and in a record older than that."""
        told = self.detail.get("band")
        found = (_foreseen(one) for one in (told if isinstance(told, list) else ()))
        return tuple(one for one in found if one is not None)

    def prompt(self, key: str = "prompt") -> Prompt | None:
        """What was asked, under `key`; None where nothing was."""
        return self._meaning(Prompt, key)

    def notes(self, key: str = "promise") -> tuple[Note, ...]:
        """All notes of the list under `key`."""
        return self._meanings(Note, key)

    def reasons(self, key: str = "reasons") -> tuple[Reason, ...]:
        """All reasons of the list under `key`."""
        return self._meanings(Reason, key)

    def traffic(self) -> TrafficSummed | None:
        """The sums of traffic that this line holds; None where it holds none."""
        if self.event != TrafficSummed.__name__:
            return None
        told = self.detail
        try:
            return TrafficSummed(
                stage=self.stage,
                seconds=float(str(told["seconds"])),
                to_card_bytes=int(str(told["to_card_bytes"])),
                to_host_bytes=int(str(told["to_host_bytes"])),
                wrong_words=int(str(told["wrong_words"])),
                errors=_counts(told["errors"]),
                other=_counts(told["other"]),
                counters_missing=self.reason("counters_missing"),
                broken=self._broken(),
            )
        except (KeyError, ValueError, OverflowError):
            return None

    def counters(self) -> CountersRead | None:
        """What counters stood at; None where this line does not tell, or not wholly."""
        told = self.detail.get("counters")
        if self.event != CountersRead.__name__ or not isinstance(told, list):
            return None
        try:
            read = tuple(_counter(one) for one in told)
        except (KeyError, TypeError, ValueError, OverflowError):
            return None
        of, missing = str(self.detail.get("of", "")), self.reason("missing")
        return CountersRead(self.stage, of, read, missing)

    def _broken(self) -> dict[str, Reason]:
        """Counters that broke off, with why; none where the record is older than that."""
        told = self.detail.get("broken")
        found = told.items() if isinstance(told, Mapping) else ()
        reasons = ((str(name), _meaning(Reason, why)) for name, why in found)
        return {name: why for name, why in reasons if why is not None}

    def _meaning(self, kind: type[M], key: str) -> M | None:
        return _meaning(kind, self.detail.get(key))

    def _meanings(self, kind: type[M], key: str) -> tuple[M, ...]:
        found = self.detail.get(key)
        told = found if isinstance(found, list) else []
        return tuple(m for m in (_meaning(kind, part) for part in told) if m is not None)


def entry_of(row: JournalRow) -> JournalEntry:
    """A line of journal.csv; raises ValueError where its detail is no JSON object."""
    detail = json.loads(row.detail) if row.detail else {}
    if not isinstance(detail, dict):
        raise ValueError("detail is no JSON object")
    return JournalEntry(row.elapsed_s, row.time_utc, row.event, row.stage, detail)


def _meaning(kind: type[M], value: object) -> M | None:
    if not isinstance(value, Mapping):
        return None
    try:
        return kind.from_plain(value)
    except (ValueError, RecursionError):
        return None


def _counts(table: object) -> dict[str, int]:
    if not isinstance(table, Mapping):
        raise ValueError("counts are a JSON object")
    return {str(name): int(str(count)) for name, count in table.items()}


def _counter(told: object) -> CounterAt:
    if not isinstance(told, Mapping):
        raise ValueError("a counter is a JSON object")
    modulus = told.get("modulus")
    return CounterAt(
        str(told["end"]),
        str(told["name"]),
        int(str(told["value"])),
        None if modulus is None else int(str(modulus)),
    )


def _still_likely(told: object) -> StillLikely | None:
    if not isinstance(told, Mapping):
        return None
    cause, check = _meaning(Cause, told.get("cause")), _meaning(Check, told.get("check"))
    probability = finite(told.get("probability"))
    if cause is None or check is None or probability is None:
        return None
    return StillLikely(cause, check, probability)


def _foreseen(told: object) -> Foreseen | None:
    if not isinstance(told, Mapping):
        return None
    names = ("ahead_s", "value_c", "low_c", "high_c")
    numbers = [number for name in names if (number := finite(told.get(name))) is not None]
    return Foreseen(*numbers) if len(numbers) == len(names) else None
