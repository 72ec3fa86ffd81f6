"""Builds records in the format of results/README.md, without the part that writes real ones.

Where a reason is given as text, it stands in the record as words of an older record would.
"""

from __future__ import annotations

import csv
import hashlib
import json
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from burnin.core.meaning import Meaning
from burnin.core.plain import plain
from burnin.core.sample import TELEMETRY_NAMES
from burnin.core.verdict import OwedWhat, VerdictReason, stage_title
from burnin.record.reasons import RecordReason
from burnin.stages.display.meanings import DisplayReason

STARTED = datetime(2026, 3, 2, 9, 15, tzinfo=UTC)
READING_COLUMNS = [
    "time_utc",
    "elapsed_s",
    "stage",
    "reading",
    "value",
    "value_kind",
    "unit",
    "uncertainty",
    "lower_limit",
    "upper_limit",
    "allowed",
    "verdict",
    "required",
    "reason",
    "reason_data",
    "source",
    "source_data",
]
SAMPLE_COLUMNS = ["elapsed_s", "time_utc", "stage", "load_share", "load_w", "read_s", "present"]
JOURNAL_COLUMNS = ["elapsed_s", "time_utc", "event", "stage", "detail"]
WORD_COLUMNS = ["address_bytes", "expected", "got", "flipped_bits", "pattern", "step", "pass"]

STAGES = (
    ("1-enumeration", "enumeration", 0.0, 4.0),
    ("2-display", "display", 4.0, 40.0),
    ("3-link", "link", 40.0, 76.0),
    ("4-memory", "memory", 76.0, 190.0),
    ("5-compute", "compute", 190.0, 222.0),
    ("6-thermal_ramp", "thermal_ramp", 222.0, 560.0),
    ("7-link", "link", 560.0, 580.0),
)
GUARDS = {
    "gpu_temp_limit_c": 90.0,
    "hotspot_temp_limit_c": 108.0,
    "memory_temp_limit_c": 105.0,
    "temp_margin_c": 2.0,
    "temp_rate_limit_c_per_s": 8.0,
    "hotspot_delta_limit_k": 35.0,
    "power_limit_w": None,
}


@dataclass
class Draft:
    """A record before it is written; tests change what they are about."""

    facts: dict[str, Any]
    readings: list[dict[str, object]] = field(default_factory=list)
    samples: list[dict[str, object]] = field(default_factory=list)
    journal: list[dict[str, object]] = field(default_factory=list)
    failing_words: list[dict[str, object]] = field(default_factory=list)

    def reading(self, stage: str, name: str, value: object, unit: str = "", **more: object) -> None:
        row: dict[str, object] = dict.fromkeys(READING_COLUMNS, "")
        row |= {"stage": stage, "reading": name, "value": value, "unit": unit}
        row |= {"verdict": "pass", "required": "yes", "uncertainty": 0}
        self.readings.append(row | more)

    def event(self, elapsed_s: float, event: str, stage: str = "", /, **detail: object) -> None:
        self.journal.append(
            {
                "elapsed_s": elapsed_s,
                "time_utc": utc(elapsed_s),
                "event": event,
                "stage": stage,
                "detail": json.dumps(plain(detail)),
            }
        )

    def stage_ends(self, place: int, verdict: str, why: Meaning | str) -> None:
        """A stage of run.json ends otherwise than with a pass."""
        self.facts["stages"][place] |= {"verdict": verdict, "reasons": [why]}

    def owes(self, what: Meaning | str, why: Meaning | str, stage: str = "") -> None:
        """Something that the record says is owed."""
        self.facts["owed"].append({"stage": stage, "what": what, "reason": why})

    def write(self, folder: Path) -> Path:
        """Write all files; checksums cover the data."""
        folder.mkdir(parents=True, exist_ok=True)
        (folder / "run.json").write_text(json.dumps(_kept(self.facts), indent=1), "utf-8")
        rows = [_reading_row(row) for row in self.readings]
        write_csv(folder / "readings.csv", READING_COLUMNS, rows)
        write_csv(folder / "samples.csv", [*SAMPLE_COLUMNS, *TELEMETRY_NAMES], self.samples)
        write_csv(folder / "journal.csv", JOURNAL_COLUMNS, self.journal)
        if self.failing_words:
            write_csv(folder / "failing_words.csv", WORD_COLUMNS, self.failing_words)
        names = sorted(path.name for path in folder.iterdir() if path.suffix in (".csv", ".json"))
        lines = (
            f"{hashlib.sha256((folder / name).read_bytes()).hexdigest()}  {name}\n"
            for name in names
        )
        (folder / "checksums.sha256").write_text("".join(lines), "utf-8")
        return folder


def write_csv(path: Path, columns: list[str], rows: Iterable[Mapping[str, object]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, columns, restval="", lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def words(text: Meaning | str) -> Meaning:
    """A meaning as it is; text as words of an older record."""
    return text if isinstance(text, Meaning) else RecordReason.WORDS_OF_FORMAT_1(words=text)


def _kept(facts: Mapping[str, Any]) -> object:
    kept = {**facts, "reason": words(facts["reason"])}
    kept["stages"] = [
        {**stage, "reasons": [words(reason) for reason in stage["reasons"]]}
        for stage in facts["stages"]
    ]
    kept["owed"] = [
        {**item, "what": words(item["what"]), "reason": words(item["reason"])}
        for item in facts["owed"]
    ]
    return plain(kept)


def _reading_row(row: Mapping[str, object]) -> dict[str, object]:
    kept = dict(row)
    given = kept["reason"]
    if isinstance(given, Meaning | str) and given:
        content = words(given).as_plain()
        kept |= {"reason": content.pop("code"), "reason_data": json.dumps(content)}
    value = kept["value"]
    kind = "number" if isinstance(value, int | float) else "word"
    return kept | {"value_kind": kind if value != "" else ""}


def utc(elapsed_s: float) -> str:
    moment = STARTED + timedelta(seconds=elapsed_s)
    return moment.strftime("%Y-%m-%dT%H:%M:%S.%f")[:-3] + "Z"


def passed(end_s: float = 580.0) -> Draft:
    """A healthy card on the simulated machine; optional readings that it does not offer."""
    draft = Draft(facts=_facts())
    draft.event(0.0, "RunStarted", stages=[name for name, *_ in STAGES])
    for name, kind, began, ended in STAGES:
        if began >= end_s:
            break
        draft.event(began, "StageStarted", name, stage=name, kind=kind, expected_s=1.0)
        if ended <= end_s:
            draft.event(ended, "StageFinished", name, kind=kind, verdict="pass", reasons=[])
    _add_readings(draft)
    draft.samples = [_sample(t) for t in _moments(end_s)]
    return draft


def failed() -> Draft:
    """Two memory bits are stuck."""
    draft = passed()
    draft.facts |= {
        "run_id": "20260302-091500-f1",
        "verdict": "fail",
        "ended": "failed",
        "reason": "memory: 3 words read back wrong, must be = 0",
    }
    draft.stage_ends(3, "fail", "3 words read back wrong, must be = 0")
    row = next(r for r in draft.readings if r["reading"] == "failing_words")
    row |= {"value": 3, "verdict": "fail", "reason": "3 words read back wrong, must be = 0"}
    for place in range(3):
        draft.failing_words.append(
            {
                "address_bytes": f"0x{0x12340000 + 4096 * place:012x}",
                "expected": "0xffffffff",
                "got": "0xfffdffff",
                "flipped_bits": "0x00020000",
                "pattern": "solid",
            }
        )
    return draft


def aborted() -> Draft:
    """A guard ended the heat stage; the link was never tried again."""
    draft = passed(end_s=262.0)
    draft.facts |= {
        "run_id": "20260302-091500-a1",
        "ended_utc": utc(262.0),
        "verdict": "aborted",
        "ended": "tripped",
        "reason": "GPU temperature would reach 90 °C in 1.6 s; the load was ended at 84 °C",
    }
    draft.facts["stages"] = draft.facts["stages"][:6]
    draft.stage_ends(5, "aborted", "a guard ended the load")
    draft.facts["stages"][5]["ended_s"] = 262.0
    draft.readings = [r for r in draft.readings if str(r["stage"])[0] not in "67"]
    draft.samples = [_sample(t, rate_c_per_s=1.62) for t in _moments(262.0)]
    for moment, ahead in ((236.0, 24.0), (244.0, 12.5), (251.0, 1.6)):
        draft.event(
            moment,
            "ForecastMade",
            "6-thermal_ramp",
            guard="temperature forecast",
            signal="gpu_temp_c",
            limit=90.0,
            crossing_in_s=ahead,
            forecast=words(f"GPU reaches 90 °C in {ahead} s"),
        )
    draft.event(
        251.0,
        "GuardTripped",
        "6-thermal_ramp",
        stage="6-thermal_ramp",
        guard="temperature forecast",
        signal="gpu_temp_c",
        value=84.0,
        limit=90.0,
        reason=words("GPU temperature would reach 90 °C in 1.6 s; the load was ended at 84 °C"),
        suspect=words("no coolant moves through the block, or it does not touch the die"),
        check=words("pump connector, flow direction, air in the block, contact of block and die"),
    )
    return draft


def conditional() -> Draft:
    """All that ran passed; two outputs had no monitor, and the loop is not attached."""
    draft = passed()
    draft.facts |= {
        "run_id": "20260302-091500-c1",
        "verdict": "conditional",
        "reason": "2 readings were not measured and 2 checks are owed",
    }
    seen = OwedWhat.READING(stage=stage_title("display", ""), reading="screen_detected DP-3")
    draft.owes(seen, DisplayReason.NO_MONITOR(), "2-display")
    draft.owes("Heat soak with the customer's own loop", "the loop is at the customer's place")
    draft.stage_ends(1, "conditional", "2 of 4 outputs not measured")
    for row in draft.readings:
        if row["reading"] in ("screen_detected DP-3", "screen_detected HDMI-A-1"):
            row |= {"value": "", "verdict": "not measured", "reason": "nobody moved the cable"}
        if row["reading"] == "gpu_temp_max_c":
            row |= {"value": 85, "verdict": "unsure", "reason": "the limit lies inside 85 ± 0.58"}
    return draft


def power_cut(folder: Path) -> Path:
    """Write a record whose power was cut in the memory stage: torn lines, run.json as at start."""
    draft = passed(end_s=120.0)
    draft.facts |= {"verdict": "incomplete", "ended": "", "ended_utc": ""}
    draft.facts["reason"] = VerdictReason.NOT_AT_ITS_END()
    draft.facts["stages"] = []
    draft.readings = [r for r in draft.readings if str(r["stage"])[0] in "123"]
    draft.write(folder)
    (folder / "checksums.sha256").unlink()
    for name, cut in (("readings.csv", 25), ("samples.csv", 9), ("journal.csv", 5)):
        whole = (folder / name).read_bytes()
        (folder / name).write_bytes(whole[:-cut])
    return folder


def _facts() -> dict[str, Any]:
    return {
        "format": 2,
        "run_id": "20260302-091500-p1",
        "started_utc": utc(0.0),
        "ended_utc": utc(580.0),
        "simulated": True,
        "simulated_scenario": "healthy",
        "tool": {"burnin": "0.1.0", "python": "3.11.2"},
        "profile": {
            "name": "desktop_air",
            "title": "Desktop card, air cooled, 16 lanes",
            "sha256": hashlib.sha256(b"profile").hexdigest(),
            "file": "desktop_air.toml",
            "text": "format = 1\n",
        },
        "card": {
            "address": "0000:01:00.0",
            "vendor_id": 0xF5A7,
            "device_id": 0x0009,
            "subsystem_vendor_id": 0xF5A7,
            "subsystem_id": 0x0901,
            "revision": 161,
            "class_code": 0x030000,
            "name": "Corvane Strata 9",
            "vendor_name": "Corvane",
            "driver": "strata",
            "driver_version": "6.1.0",
            "firmware_version": "94.02.71",
            "memory_bytes": 24 << 30,
            "serial": {"not_measured": words("the driver does not tell it")},
            "uuid": {"not_measured": words("the driver does not tell it")},
            "bars": [{"number": 0, "size_bytes": 1 << 28, "prefetchable": True}],
            "simulated": True,
        },
        "bench": {
            "operating_system": "Linux 6.18",
            "processor": "bench processor, 8 cores",
            "boot_id": "b0",
        },
        "engine": {
            "name": "simulated",
            "adapter": "simulated adapter",
            "driver": "",
            "why": words("the machine is simulated"),
            "works_card": True,
        },
        "ticket": {
            "number": "R-0412",
            "customer": "Ottilie Maro",
            "card_label": "Strata 9, blue tape",
            "technician": "J. Wren",
            "shop": "Wrenfield Board Repair",
        },
        "stages": [
            {
                "stage": name,
                "kind": kind,
                "own_title": "Link again, with the card hot" if name == "7-link" else "",
                "verdict": "pass",
                "reasons": [],
                "started_s": began,
                "ended_s": ended,
            }
            for name, kind, began, ended in STAGES
        ],
        "verdict": "pass",
        "reason": "every reading passed",
        "ended": "done",
        "owed": [],
        "guards": dict(GUARDS),
    }


def _add_readings(draft: Draft) -> None:
    add = draft.reading
    add("1-enumeration", "vendor_id", "0xf5a7", allowed="0xf5a7")
    add("1-enumeration", "cards_found", 1, lower_limit=1, upper_limit=1)
    add("1-enumeration", "memory_bytes", 24 << 30, "bytes", lower_limit=24 << 30)
    add("1-enumeration", "driver", "strata", verdict="")
    for port in ("DP-1", "DP-2", "DP-3", "HDMI-A-1"):
        add("2-display", f"screen_detected {port}", "connected", allowed="connected")
        add("2-display", f"preferred_mode {port}", "2560x1440", verdict="")
    for stage in ("3-link", "7-link"):
        add(stage, "link_width_lanes", 16, "lanes", lower_limit=16, upper_limit=16)
        add(stage, "link_speed_gts", 16, "GT/s", lower_limit=16, upper_limit=16)
        add(stage, "new_link_errors", 0, "", upper_limit=0)
    add("4-memory", "failing_words", 0, "", upper_limit=0)
    add("4-memory", "share_of_free_tested", 0.971, "", lower_limit=0.97)
    add("5-compute", "results_that_changed", 0, "", upper_limit=0)
    ramp = "6-thermal_ramp"
    add(ramp, "gpu_temp_max_c", 71, "°C", uncertainty=0.5774, upper_limit=85)
    add(ramp, "power_w", 287.4, "W", uncertainty=0.58, lower_limit=60)
    add(ramp, "thermal_resistance_k_per_w", 0.1612, "K/W", uncertainty=0.0094, upper_limit=0.3)
    add(ramp, "heat_given_j", 88123.4, "J", verdict="")
    add(
        ramp,
        "hotspot_temp_max_c",
        "",
        "°C",
        upper_limit=102,
        verdict="not measured",
        required="no",
        reason="the driver offers no hot-spot sensor",
    )


def _moments(end_s: float) -> list[float]:
    return [round(0.5 * step, 3) for step in range(int(end_s * 2))]


def _sample(elapsed_s: float, rate_c_per_s: float = 0.0) -> dict[str, object]:
    stage, _, began, _ = next(s for s in reversed(STAGES) if elapsed_s >= s[2])
    share = {"3": 0.4, "4": 0.6, "5": 0.8, "7": 0.4}.get(stage[0], 0.0)
    if stage[0] == "6":
        share = 0.25 if elapsed_s < 282 else 0.5 if elapsed_s < 342 else float(elapsed_s < 500)
    power_w = 24.0 + 262.0 * share + 3.0 * math.sin(elapsed_s)
    temp_c = 31.0 + 40.0 * share * (1 - math.exp(-(elapsed_s - began) / 30))
    if stage[0] == "6":
        temp_c += rate_c_per_s * min(elapsed_s - began, 29.0) - max(0.0, elapsed_s - 251.0) * (
            rate_c_per_s > 0
        )
    row: dict[str, object] = dict.fromkeys(TELEMETRY_NAMES, "")
    return row | {
        "elapsed_s": elapsed_s,
        "time_utc": utc(elapsed_s),
        "stage": stage,
        "load_share": share,
        "load_w": "",
        "read_s": 0.0014,
        "present": "yes",
        "gpu_temp_c": round(temp_c),
        "memory_temp_c": round(temp_c + 6),
        "power_w": round(power_w, 1),
        "core_clock_mhz": 2505 if share else 210,
        "memory_clock_mhz": 10501 if share else 405,
        "fan_rpm": round(900 + 12 * max(0.0, temp_c - 40)),
        "link_speed_gts": 16 if share else 2.5,
        "link_width_lanes": 16,
        "throttle_reasons": "",
    }
