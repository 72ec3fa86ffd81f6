"""run.json of format 1 in the newest one."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import fields

from burnin.core.identity import Identity
from burnin.core.verdict import Ended, RunVerdict, StageVerdict
from burnin.record.format_1.owed import owed_in_new_format
from burnin.record.format_1.run_reason import run_reason
from burnin.record.format_1.words import Plain, Typing, own_title

_NUMBERS = {"vendor_id", "device_id", "class_code"}
"""Facts of a card that are always told."""


def run_in_new_format(
    content: Mapping[str, object],
    names: Callable[[], Mapping[str, tuple[str, ...]]],
    typing: Typing,
) -> Plain:
    """run.json of format 1 with typed meaning; `names` gives the readings of each stage."""
    card = content.get("card")
    engine, simulated = _table(content, "engine"), bool(content.get("simulated"))
    stages = [_stage(row, typing) for row in _rows(content, "stages")]
    fresh: Plain = {
        "format": 2,
        "run_id": _text(content, "run_id") or "unknown",
        "started_utc": _text(content, "started_utc"),
        "ended_utc": _text(content, "ended_utc"),
        "simulated": simulated,
        "simulated_scenario": _scenario(content) if simulated else "",
        "simulated_seed": _whole(content.get("simulated_seed")),
        "resumed": _whole(content.get("resumed")),
        "folder": _text(content, "folder"),
        "options": _table(content, "options"),
        "tool": _texts(_table(content, "tool")),
        "profile": {
            key: _text(_table(content, "profile"), key)
            for key in ("name", "title", "file", "sha256", "text")
        },
        "guards": _table(content, "guards"),
        "card": _card(card, typing) if isinstance(card, Mapping) else None,
        "card_absent": None if isinstance(card, Mapping) else _absent(content, typing),
        "temperature_limits": _limits(content, typing),
        "sensor_steps": _steps(content, typing),
        "bench": _bench(_table(content, "bench"), typing),
        "engine": {
            **{key: _text(engine, key) for key in ("name", "adapter", "driver")},
            "why": typing.reason(_text(engine, "why"), "run.json engine.why"),
            "works_card": engine.get("works_card") is not False,
            "simulated": engine.get("simulated") is True,
        },
        "ticket": _texts(_table(content, "ticket")),
        "stages": stages,
        "verdict": _word(RunVerdict, _text(content, "verdict"), RunVerdict.INCOMPLETE),
        "ended": _word(Ended, _text(content, "ended"), Ended.NOT_YET),
        "owed": owed_in_new_format(_rows(content, "owed"), _rows(content, "stages"), names, typing),
    }
    return {**fresh, "reason": run_reason(content, fresh, typing)}


def _stage(row: Mapping[str, object], typing: Typing) -> Plain:
    name = _text(row, "stage")
    title, taken_over = own_title(_text(row, "title"))
    return {
        "stage": name,
        "kind": _text(row, "kind") or name.partition("-")[2],
        "own_title": title,
        "verdict": _word(StageVerdict, _text(row, "verdict"), StageVerdict.INCOMPLETE),
        "reasons": typing.reasons(_text(row, "reason"), f"run.json stages.{name}.reason"),
        "started_s": _number(row.get("started_s")),
        "ended_s": _number(row.get("ended_s")),
        "taken_over": taken_over,
    }


def _scenario(content: Mapping[str, object]) -> str:
    """The scenario's name; format 1 kept a whole banner beside what the command was given."""
    given = _text(_table(content, "options"), "simulated")
    return given or _text(content, "simulated_scenario") or "unknown"


def _absent(content: Mapping[str, object], typing: Typing) -> Plain:
    if content.get("card_absent"):
        return {"code": "run_nothing_enumerated"}
    return typing.reason(_text(content, "card_text"), "run.json card_text")


def _card(card: Mapping[str, object], typing: Typing) -> Plain:
    kept: Plain = {}
    for field in fields(Identity):
        value = card.get(field.name)
        if field.name == "bars":
            kept["bars"] = value if isinstance(value, list) else []
        elif field.name in _NUMBERS:
            kept[field.name] = _whole(value)
        elif field.name == "address":
            kept["address"] = _text(card, "address")
        elif field.name == "simulated":
            kept["simulated"] = value is True
        else:
            kept[field.name] = _known(value, f"run.json card.{field.name}", typing)
    return kept


def _known(value: object, place: str, typing: Typing) -> object:
    """A value, or why there is none."""
    if isinstance(value, Mapping):
        told = value.get("not_measured")
        return {"not_measured": typing.reason(told if isinstance(told, str) else "", place)}
    return {"not_measured": typing.reason("", place)} if value is None else value


def _limits(content: Mapping[str, object], typing: Typing) -> Plain | None:
    limits = _table(content, "temperature_limits")
    if not limits:
        return None
    return {
        key: _known(limits.get(key), f"run.json temperature_limits.{key}", typing)
        for key in ("slowdown_c", "shutdown_c", "memory_max_c")
    }


def _steps(content: Mapping[str, object], typing: Typing) -> Plain | None:
    steps = _table(content, "sensor_steps")
    if not steps:
        return None
    return {
        **{key: steps[key] for key in ("temp_c", "power_w", "refresh_s") if key in steps},
        "sources": {
            name: typing.source(text, f"run.json sensor_steps.sources.{name}")
            for name, text in _texts(_table(steps, "sources")).items()
        },
    }


def _bench(bench: Mapping[str, object], typing: Typing) -> Plain:
    found: Plain = {}
    for name, text in _texts(bench).items():
        mark, _, why = text.partition(": ")
        silent = mark == "not measured"
        place = f"run.json bench.{name}"
        found[name] = {"not_measured": typing.reason(why, place)} if silent else text
    return found


def _table(content: Mapping[str, object], key: str) -> Mapping[str, object]:
    value = content.get(key)
    return value if isinstance(value, dict) else {}


def _rows(content: Mapping[str, object], key: str) -> list[Mapping[str, object]]:
    value = content.get(key)
    return [row for row in value if isinstance(row, dict)] if isinstance(value, list) else []


def _text(content: Mapping[str, object], key: str) -> str:
    value = content.get(key)
    return value if isinstance(value, str) else ""


def _texts(content: Mapping[str, object]) -> dict[str, str]:
    return {name: value for name, value in content.items() if isinstance(value, str)}


def _number(value: object) -> float | None:
    told = isinstance(value, int | float) and not isinstance(value, bool)
    return value if told and isinstance(value, int | float) and math.isfinite(value) else None


def _whole(value: object) -> int:
    return value if isinstance(value, int) and not isinstance(value, bool) else 0


def _word(
    kind: type[RunVerdict] | type[StageVerdict] | type[Ended], told: str, otherwise: str
) -> str:
    """A word of an enum; anything else says nothing."""
    word = told.strip().lower().replace("_", " ")
    return word if word in {member.value for member in kind} else otherwise
