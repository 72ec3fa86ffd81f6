"""What format 1 said is owed, as a stage, a reading or the whole run."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from burnin.record.format_1.words import Plain, Typing, own_title, title_of_reading

_WHOLE_RUN = "the whole run"


def owed_in_new_format(
    owed: Sequence[Mapping[str, object]],
    stages: Sequence[Mapping[str, object]],
    names: Callable[[], Mapping[str, tuple[str, ...]]],
    typing: Typing,
) -> list[Plain]:
    """Each owed work with its meaning; `names` gives the names of each stage's readings."""
    if not owed:
        return []
    readings = names()
    by_name = {row.get("stage"): row for row in stages}
    fresh: list[Plain] = []
    for number, work in enumerate(owed):
        stage, what, reason = (_text(work, key) for key in ("stage", "what", "reason"))
        place = f"run.json owed.{number}"
        told = _what(what, by_name.get(stage), readings.get(stage, ()))
        fresh.append(
            {
                "stage": stage,
                "what": told or typing.words(what, f"{place}.what"),
                "reason": typing.reason(reason, f"{place}.reason"),
            }
        )
    return fresh


def _what(
    what: str, stage: Mapping[str, object] | None, readings: Sequence[str]
) -> Plain | None:
    if what == _WHOLE_RUN:
        return {"code": "owed_whole_run"}
    if stage is None:
        return None
    title = _text(stage, "title")
    own, _ = own_title(title)
    named = own or {"code": f"stage_{_text(stage, 'kind')}"}
    if what == title:
        return {"code": "owed_stage", "stage": named}
    head, _, rest = what.rpartition(": ")
    for name in readings:
        if head and rest in (name, title_of_reading(name)):
            return {"code": "owed_reading", "stage": named, "reading": name}
    return None


def _text(row: Mapping[str, object], key: str) -> str:
    value = row.get(key)
    return value if isinstance(value, str) else ""
