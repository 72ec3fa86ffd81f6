"""A record's samples judged anew by the guards of a profile, row by row."""

from __future__ import annotations

import json
from collections import deque
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TextIO

from burnin.core.errors import RecordError
from burnin.core.reading import NotMeasured
from burnin.core.sample import TELEMETRY_NAMES, Resolution, Sample, Telemetry
from burnin.guard.factory import fit_guards
from burnin.guard.forecast_guard import ForecastGuard
from burnin.profile.loader import LoadedProfile, load_profile, parse_profile
from burnin.profile.ramp import ThermalRamp
from burnin.record.rows import read_facts, read_rows
from burnin.thermal.forecast import Plan
from burnin.thermal.ramp_planner import DRY_STATES


def rejudge(files: list[str], profile: str | None, as_json: bool, out: TextIO) -> int:
    """Judge every record or CSV file; exit code 0, whatever the guards found, 2 for bad files.

    Raises RecordError for a record that cannot be read.
    """
    folders = [name for name in files if Path(name).is_dir()]
    others = [name for name in files if name not in folders]
    for name in folders:
        _judge_record(Path(name), profile, out)
    if not others:
        return 0
    from burnin.replay.recordings import replay

    return replay(others, profile, as_json, out)


def _judge_record(folder: Path, profile: str | None, out: TextIO) -> None:
    facts = read_facts(folder)
    loaded = load_profile(profile) if profile else _own_profile(folder, facts)
    guards = fit_guards(loaded.profile.guards, _resolution(facts))
    forecast = next((g for g in guards if isinstance(g, ForecastGuard)), None)
    plans = _plans(folder)
    ramps = (s.own_plan for s in loaded.profile.stages if isinstance(s, ThermalRamp))
    no_loop = any(plan is not None and plan.no_loop for plan in ramps)
    count, stopped_at_s = 0, None
    for sample in samples_of(folder):
        count += 1
        if forecast is not None:
            while plans and plans[0][0] < sample.elapsed_s:
                _, forecast.watch.plan, forecast.watch.ends_s = plans.popleft()
                if no_loop and forecast.watch.plan and forecast.watch.bank is not None:
                    forecast.watch.assume(DRY_STATES)
                    no_loop = False  # said once, as in the run
            if stopped_at_s is not None:
                row = forecast.row(sample)
                if row is not None:
                    forecast.watch.see(row)
        if stopped_at_s is not None:
            continue
        for guard in guards:
            trip = guard.judge(sample)
            if trip is None:
                continue
            stopped_at_s = sample.elapsed_s
            line = {
                "file": str(folder),
                "action": "stop",
                "time_s": sample.elapsed_s,
                "guard": trip.guard,
                "reason": trip.reason,
                "suspect": trip.suspect,
                "probability": trip.probability,
                "stage": sample.stage,
            }
            out.write(json.dumps(line, ensure_ascii=False) + "\n")
            break
    end: dict[str, object] = {
        "file": str(folder),
        "action": "end",
        "profile": loaded.name,
        "samples": count,
        "stopped_at_s": stopped_at_s,
    }
    if forecast is not None:
        from burnin.thermal.cooling_verdict import judge_cooling

        end |= judge_cooling(forecast.watch).as_plain()
    out.write(json.dumps(end, ensure_ascii=False) + "\n")


def _plans(folder: Path) -> deque[tuple[float, Plan | None, float | None]]:
    """From which elapsed second the run's stages had planned what, and until when."""
    found: deque[tuple[float, Plan | None, float | None]] = deque()
    for row in read_rows(folder / "journal.csv"):
        if row["event"] != "LoadPlanned":
            continue
        try:
            detail = json.loads(row["detail"])
            steps = tuple((float(s), float(w)) for s, w in detail["steps"])
            end_s = float(detail["end_s"])
            plan = Plan(steps, end_s) if steps else None
            ends_s = end_s if end_s and not steps else None
            found.append((float(row["elapsed_s"]), plan, ends_s))
        except (ValueError, KeyError, TypeError):
            continue  # torn by a cut
    return found


def _own_profile(folder: Path, facts: Mapping[str, object]) -> LoadedProfile:
    import tomllib

    profile = facts.get("profile")
    if not isinstance(profile, dict) or "text" not in profile:
        raise RecordError(f"{folder}: holds no profile; name one with --profile")
    text = str(profile["text"])
    return parse_profile(str(profile["name"]), str(profile["file"]), text, tomllib.loads(text))


def _resolution(facts: Mapping[str, object]) -> Resolution:
    steps = facts.get("sensor_steps")
    if not isinstance(steps, dict):
        return Resolution()
    return Resolution(float(steps["temp_c"]), float(steps["power_w"]), float(steps["refresh_s"]))


def samples_of(folder: Path) -> Iterator[Sample]:
    """The samples of a record in their order; blank cells are values that were not read."""
    path = folder / "samples.csv"
    if not path.exists():
        raise RecordError(f"{folder}: no samples.csv here")
    for row in read_rows(path):
        yield _sample(row)


def _sample(row: Mapping[str, str]) -> Sample:
    values: dict[str, float | tuple[str, ...] | NotMeasured] = {}
    for name in TELEMETRY_NAMES:
        cell = row.get(name, "")
        if name == "throttle_reasons":
            reasons = tuple(part for part in cell.split("; ") if part)
            values[name] = reasons
        else:
            values[name] = float(cell) if cell else NotMeasured("blank in the record")
    return Sample(
        float(row["elapsed_s"]),
        row["time_utc"],
        row["stage"],
        Telemetry(**values),  # type: ignore[arg-type]
        float(row["load_share"] or 0.0),
        float(row["load_w"]) if row.get("load_w") else None,
        float(row["read_s"] or 0.0),
        row.get("present", "yes") != "no",
    )
