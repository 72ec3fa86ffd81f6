"""A run's reason in format 1: made of its parts by a rule, so that the parts give it a meaning."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from burnin.core.meaning import Owed, Reason
from burnin.core.verdict import Ended, OwedWork, RunVerdict, StageOutcome, StageVerdict, run_verdict
from burnin.record.format_1.words import Plain, Typing

_MOST_NAMED = 3


def run_reason(old: Mapping[str, object], fresh: Mapping[str, object], typing: Typing) -> Plain:
    """The reason from stages and what is owed, where their words make the old sentence; else it.

    `fresh` is run.json in the new format but for its reason.
    """
    text = _text(old, "reason")
    ended, verdict = _text(fresh, "ended"), _text(fresh, "verdict")
    if text and _sentence(old, ended) + _resumed(fresh) == text:
        outcomes, owed = _outcomes(fresh), _owed(fresh)
        cut = next((o for o in outcomes if o.verdict is StageVerdict.ABORTED), None)
        because = cut.reasons[0] if cut and cut.reasons else None
        found, reason = run_verdict(outcomes, owed, Ended(ended), because)
        if found == RunVerdict(verdict):
            return reason.as_plain()
    return typing.reason(text or "the run has not come to its end", "run.json reason")


def _sentence(old: Mapping[str, object], ended: str) -> str:
    """The sentence as the tool of that time made it."""
    stages = _rows(old, "stages")
    failed = [s for s in stages if s.get("verdict") == "fail"]
    told = "; ".join(f"{_text(s, 'title')}: {_text(s, 'reason')}" for s in failed)
    if ended == Ended.TRIPPED:
        cut = next((s for s in stages if s.get("verdict") == "aborted"), {})
        return _text(cut, "reason") + (f". Failed before that: {told}" if told else "")
    if failed:
        return told
    owed = _rows(old, "owed")
    short = [s for s in stages if s.get("verdict") != "pass"]
    if owed or not stages or short:
        grouped: dict[str, dict[str, None]] = {}
        for work in owed:
            grouped.setdefault(_text(work, "reason"), {})[_text(work, "what")] = None
        names = [f"{', '.join(what)} ({reason})" for reason, what in grouped.items()]
        names = names or [f"{_text(s, 'title')} ({_text(s, 'reason')})" for s in short]
        more = len(names) - _MOST_NAMED
        rest = f", and {more} more" if more > 0 else ""
        return "all that ran passed; still owed: " + "; ".join(names[:_MOST_NAMED]) + rest
    return f"all {len(stages)} stages passed"


def _resumed(fresh: Mapping[str, object]) -> str:
    times = fresh.get("resumed")
    if not times:
        return ""
    return f"; the run was interrupted and resumed {'once' if times == 1 else f'{times} times'}"


def _outcomes(fresh: Mapping[str, object]) -> list[StageOutcome]:
    return [
        StageOutcome(
            _text(row, "stage"),
            _text(row, "kind"),
            _text(row, "own_title"),
            StageVerdict(_text(row, "verdict")),
            tuple(Reason.from_plain(r) for r in _rows(row, "reasons")),
        )
        for row in _rows(fresh, "stages")
    ]


def _owed(fresh: Mapping[str, object]) -> list[OwedWork]:
    return [
        OwedWork(
            _text(row, "stage"),
            Owed.from_plain(_table(row, "what")),
            Reason.from_plain(_table(row, "reason")),
        )
        for row in _rows(fresh, "owed")
    ]


def _text(row: Mapping[str, object], key: str) -> str:
    value = row.get(key)
    return value if isinstance(value, str) else ""


def _table(row: Mapping[str, object], key: str) -> Mapping[str, object]:
    value = row.get(key)
    return value if isinstance(value, Mapping) else {}


def _rows(row: Mapping[str, object], key: str) -> Sequence[Mapping[str, object]]:
    value = row.get(key)
    return [part for part in value if isinstance(part, Mapping)] if isinstance(value, list) else []
