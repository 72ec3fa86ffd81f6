"""What `burnin replay` prints: JSON lines or sentences, from typed results.

For a recording a line where the load would have been ended, and one at its end; for a stream also
one a row, each before the next row is read; warnings are lines of their own among sentences, in
JSON they stand with the row and at the end. Rows that cannot be used are named on standard error.
A run's record is always told in JSON lines.
"""

from __future__ import annotations

import json
import sys
from typing import TextIO

from burnin.cli.exit import told as told_in
from burnin.core.errors import BadInput
from burnin.core.events import WarningOver
from burnin.core.meaning import Reason
from burnin.core.plain import plain
from burnin.guard.forecast_band import notes_of
from burnin.guard.guard import Trip
from burnin.profile.loader import load_profile
from burnin.replay.judge_files import Told, judge_files
from burnin.replay.judging import Ends, GoesOn, MoreSkipped, Skipped, Stops, Unsound, Warned
from burnin.report.languages.catalogue import Catalogue, catalogue

WRONG_USE = 2


def replay(
    files: list[str],
    profile: str | None,
    as_json: bool,
    out: TextIO,
    err: TextIO | None = None,
    language: str = "en",
) -> int:
    """Judge every file or record (`-`: standard input) and print as it goes.

    Returns 0 whatever the guards found, or 2 if anything could not be judged, or was edited.
    """
    err = err or sys.stderr
    if not files:
        print("replay: name at least one file, or - for standard input", file=err)
        return WRONG_USE
    try:
        loaded = None if profile is None else load_profile(profile)
    except BadInput as error:
        print(told_in(error, catalogue(language)), file=err)
        return WRONG_USE
    code = 0
    words, own = catalogue("en"), catalogue(language)
    for told in judge_files(files, loaded):
        if isinstance(told.result, str | Reason):
            said = own.say(told.result) if isinstance(told.result, Reason) else told.result
            print(said, file=err, flush=True)
            code = WRONG_USE
        elif isinstance(told.result, Unsound):
            print(f"{told.name}: {words.say(told.result.flaw)}", file=err, flush=True)
            code = WRONG_USE
        elif isinstance(told.result, Skipped | MoreSkipped):
            print(_skipped(told, words), file=err, flush=True)
        elif isinstance(told.result, Warned):
            if not (as_json or told.is_record):
                print(_warning(told, words), file=out, flush=True)
        else:
            print(_line(told, as_json or told.is_record, words), file=out, flush=True)
    return code


def _skipped(told: Told, words: Catalogue) -> str:
    result = told.result
    if isinstance(result, Skipped):
        return f"{told.name}: line {result.line} skipped: {words.say(result.why)}"
    assert isinstance(result, MoreSkipped)
    return f"{told.name}: {result.rows_count} more rows skipped"


def _warning(told: Told, words: Catalogue) -> str:
    result = told.result
    assert isinstance(result, Warned)
    event = result.event
    if isinstance(event, WarningOver):
        return f"{told.name}: {result.time_s:.1f} s: {words.say(event.why)}"
    what, check = words.say(event.warning), words.say(event.check)
    return f"{told.name}: warning at {result.time_s:.1f} s: {what}; check: {check}"


def _line(told: Told, as_json: bool, words: Catalogue) -> str:
    result = told.result
    if isinstance(result, GoesOn):
        content: dict[str, object] = {"action": "go", "time_s": result.time_s}
        if result.warning is not None:
            content["warning"] = plain(result.warning)
        return _json(told, content) if as_json else f"{result.time_s:.1f} s: goes on"
    if isinstance(result, Stops):
        if as_json:
            return _json(told, _stop(told, result, words))
        why = _whole_reason(result.trip, words)
        return f"{told.name}: stop at {result.time_s:.1f} s ({result.trip.guard}): {why}"
    assert isinstance(result, Ends)
    return _json(told, _end(told, result)) if as_json else f"{told.name}: {_ending(result, words)}"


def _json(told: Told, content: dict[str, object]) -> str:
    return json.dumps({"file": told.name, **content}, ensure_ascii=False)


def _whole_reason(trip: Trip, words: Catalogue) -> str:
    """Reason, suspect and check on one line."""
    reason, suspect = words.say(trip.reason), words.say(trip.suspect)
    return f"{reason}; suspected: {suspect}; check: {words.say(trip.check)}"


def _stop(told: Told, stop: Stops, words: Catalogue) -> dict[str, object]:
    trip = stop.trip
    content: dict[str, object] = {
        "action": "stop",
        "time_s": stop.time_s,
        "guard": trip.guard,
    }
    if not told.is_record:
        return content | {
            "reason": _whole_reason(trip, words),
            "probability": trip.probability,
        }
    return content | {
        "reason": words.say(trip.reason),
        "suspect": words.say(trip.suspect),
        "probability": trip.probability,
        "stage": stop.stage,
    }


def _end(told: Told, end: Ends) -> dict[str, object]:
    content: dict[str, object] = {"action": "end"}
    if told.is_record:
        content |= {
            "profile": end.profile,
            "samples": end.samples_count,
            "stopped_at_s": end.stopped_at_s,
        }
    if end.cooling is not None:
        content |= end.cooling.as_plain()
    if end.warnings:
        content["warnings"] = [{"time_s": w.time_s, **_event(w)} for w in end.warnings]
    if end.forecasts:
        content["forecasts"] = plain(end.forecasts)
    return content


def _event(warned: Warned) -> dict[str, object]:
    detail = plain(warned.event)
    assert isinstance(detail, dict)
    return {"event": type(warned.event).__name__, **detail}


def _ending(end: Ends, words: Catalogue) -> str:
    if end.cooling is None:
        return "end"
    found = end.cooling
    parts = ", ".join(
        f"{name.replace('_', ' ')} {e.value:.3f} ({e.low:.3f} to {e.high:.3f}) K/W"
        for name, e in found.resistance_k_per_w.items()
    )
    state = f"cooling: {words.word(str(found.state))} ({100 * found.probability:.0f} %)"
    kept = words.says(notes_of(end.forecasts))
    return f"end; {state}; {parts}; {kept}".rstrip("; ")
