"""Lines of the tables of format 1 in the newest one."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping

from burnin.core.meaning import Meaning
from burnin.record.format_1.words import Plain, Typing, own_title
from burnin.record.meaning_cells import meaning_cells
from burnin.record.schema.tables import ValueKind

READING_COLUMNS = (
    *("time_utc", "elapsed_s", "stage", "reading", "value", "unit", "uncertainty"),
    *("lower_limit", "upper_limit", "allowed", "verdict", "required", "reason", "source"),
)
_WHOLE = re.compile(r"\d{1,20}", re.ASCII)
_SUMS = "link traffic so far"
_BOTH_ENDS = "link, both ends"
_COUNTERS = "error counters, differences"
_END = (
    *("max_width_lanes", "max_speed_gts", "width_idle_lanes", "speed_idle_gts"),
    *("widths_seen_lanes", "speeds_seen_gts", "lane_errors_before", "lane_errors_after"),
    *("bandwidth_managed_before", "bandwidth_managed_after", "bandwidth_autonomous_after"),
    "target_speed_gts",
)
"""Data of `link_end`, in their order."""


def reading_in_new_format(cells: dict[str, str], place: str, typing: Typing) -> dict[str, str]:
    """A line of readings.csv with codes in place of words."""
    fresh = dict(cells)
    if "verdict" in fresh:
        fresh["verdict"] = fresh["verdict"].strip().lower().replace("_", " ")
    if "value" in fresh:
        fresh["value_kind"] = _kind(fresh)
    for column, typed in (("reason", typing.reason), ("source", typing.source)):
        text = fresh.pop(column, "")
        if text:
            meaning = Meaning.from_plain(typed(text, f"{place} {column}"))
            fresh |= {key: str(cell) for key, cell in meaning_cells(column, meaning).items()}
    return fresh


def _kind(cells: Mapping[str, str]) -> str:
    """A number where it is written as the writer of that time wrote numbers."""
    text = cells["value"]
    if cells.get("allowed"):
        return ValueKind.WORD
    try:
        value = float(text)
    except ValueError:
        return ValueKind.WORD
    judged = cells.get("unit") or cells.get("lower_limit") or cells.get("upper_limit")
    whole = _WHOLE.fullmatch(text) is not None
    written = text == f"{value:.10g}" or (whole and text == f"{int(text)}")
    return ValueKind.NUMBER if judged or written else ValueKind.WORD


def entry_in_new_format(cells: dict[str, str], place: str, typing: Typing) -> dict[str, str]:
    """A line of journal.csv with codes in place of words; raises ValueError for no JSON."""
    detail = json.loads(cells["detail"]) if cells.get("detail") else {}
    if not isinstance(detail, dict):
        raise ValueError("detail is no JSON object")
    event = cells.get("event", "")
    if event == "Noted":
        event, fresh = _noted(detail, place, typing)
    else:
        fresh = _detail(event, detail, place, typing)
    return {**cells, "event": event, "detail": json.dumps(fresh)}


def _detail(event: str, detail: Plain, place: str, typing: Typing) -> Plain:
    """Fields of an event: sentences under one name become meanings under another."""
    fresh = dict(detail)
    renamed = _RENAMED.get(event, {})
    for old, (new, several) in renamed.items():
        text = fresh.pop(old, None)
        told = text if isinstance(text, str) else ""
        meaning = typing.reason(told, f"{place} {new}") if told else None
        fresh[new] = ([meaning] if meaning else []) if several else meaning
    if event == "StageStarted":
        title = fresh.pop("title", "")
        fresh["own_title"], fresh["taken_over"] = own_title(title if isinstance(title, str) else "")
    if event == "RunFinished":
        owed = fresh.get("owed")
        rows = [row for row in owed if isinstance(row, dict)] if isinstance(owed, list) else []
        fresh["owed"] = [
            {
                "stage": row.get("stage", ""),
                "what": typing.words(str(row.get("what", "")), f"{place} owed"),
                "reason": typing.reason(str(row.get("reason", "")), f"{place} owed"),
            }
            for row in rows
        ]
    return fresh


_RENAMED = {
    "StageFinished": {"reason": ("reasons", True)},
    "ForecastMade": {"text": ("forecast", False)},
    "GuardTripped": {
        "reason": ("reason", False),
        "suspect": ("suspect", False),
        "check": ("check", False),
    },
    "Promised": {"text": ("promise", True)},
    "LoadPlanned": {"why": ("why", False)},
    "Asked": {"question": ("prompt", False)},
    "RunFinished": {"reason": ("reason", False)},
}
"""By event: the field that held a sentence, what it is called now, whether it is a list."""


def _noted(detail: Plain, place: str, typing: Typing) -> tuple[str, Plain]:
    """A note; three of them were tables of numbers under a sentence."""
    stage, text, told = detail.get("stage", ""), detail.get("text"), detail.get("detail")
    table: Plain = told if isinstance(told, dict) else {}
    if text == _SUMS:
        missing = table.get("counters_missing")
        reason = typing.reason(missing, place) if isinstance(missing, str) and missing else None
        return "TrafficSummed", {"stage": stage, **table, "counters_missing": reason}
    if text == _BOTH_ENDS:
        note: Plain = {"code": "link_both_ends", "card": _end(table, "card")}
        note["port"] = _end(table, "port")
    elif text == _COUNTERS:
        errors = table.get("errors")
        counts = errors.items() if isinstance(errors, dict) else ()
        told_counts = [{"code": "link_counter", "counter": n, "increase": i} for n, i in counts]
        note = {"code": "link_counters", "errors": told_counts}
    else:
        note = typing.reason(text if isinstance(text, str) else "", f"{place} note")
    return "Noted", {"stage": stage, "note": note}


def _end(table: Plain, name: str) -> Plain | None:
    end = table.get(name)
    if not isinstance(end, dict):
        return None
    return {"code": "link_end", **{key: end.get(key) for key in _END}}
