"""What a record says about the link: one look for every link stage, nothing guessed.

A value that the record does not hold is None, and takes no part in any probability.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from burnin.core.errors import RecordError
from burnin.diagnosis.outputs import OutputLook, looks_at_outputs
from burnin.record.rows import read_facts, read_rows

ENDS = ("card", "port")
_GENERATIONS_GTS = (2.5, 5.0, 8.0, 16.0, 32.0, 64.0)
_BOTH_ENDS = "link, both ends"
_COUNTERS = "error counters, differences"
_LEFT = "stopped answering"
"""Part of a stage's reason when its card left the bus."""
_WARM_S = 120.0
"""A link stage after that long a stage of work counts as one of a warm card."""


@dataclass(frozen=True)
class LinkLook:
    """One link stage. Generations count from 1; `most_…`: what card and slot offer together.

    `generation` is the slowest under traffic, `top_generation` the fastest; `errors`: increase of
    error counters at either end; `lanes`: lanes whose error bit is set at either end; `managed`:
    whether the port says that it lowered width or speed to keep the link reliable.
    """

    stage: str
    warm: bool
    most_width: int
    most_generation: int
    width: int | None = None
    generation: int | None = None
    top_generation: int | None = None
    errors: tuple[int | None, int | None] = (None, None)
    lanes: tuple[frozenset[int] | None, frozenset[int] | None] = (None, None)
    managed: bool | None = None
    target_generation: int | None = None
    offers: str = ""


@dataclass(frozen=True)
class Evidence:
    """All that speaks of the link. `absent`: no card came up; `lost`: it left while it worked.

    `outputs`: what the display stage saw; `elsewhere`: what failed in stages of which no
    explanation is made here.
    """

    looks: tuple[LinkLook, ...]
    absent: bool = False
    lost: bool = False
    simulated: bool = False
    outputs: tuple[OutputLook, ...] = ()
    elsewhere: tuple[str, ...] = ()


def generation_of(speed_gts: float | None) -> int | None:
    """Generation of a line rate in GT/s (PCI Express Base Specification, 1.2), None if unknown."""
    for number, rate in enumerate(_GENERATIONS_GTS, start=1):
        if speed_gts is not None and abs(speed_gts - rate) < 0.05:
            return number
    return None


def read_evidence(folder: Path) -> Evidence:
    """The evidence in a record's folder; raises RecordError where it is no record."""
    facts = read_facts(folder)
    rows = read_rows(folder / "readings.csv")
    journal = read_rows(folder / "journal.csv")
    samples = read_rows(folder / "samples.csv")
    stages = facts.get("stages")
    looks: list[LinkLook] = []
    elsewhere: list[str] = []
    worked_s = 0.0
    for stage in stages if isinstance(stages, list) else []:
        if not isinstance(stage, dict):
            raise RecordError(f"{folder / 'run.json'}: stages holds no tables")
        if stage.get("kind") == "link":
            look = _look(str(stage.get("stage")), worked_s >= _WARM_S, rows, journal, samples)
            if look is not None:
                looks.append(look)
            continue
        gone = _LEFT in str(stage.get("reason"))
        failed = stage.get("verdict") in ("fail", "aborted") and not gone
        if failed and stage.get("kind") != "display":
            elsewhere.append(f"{stage.get('stage')}: {stage.get('reason')}")
        if stage.get("kind") in ("thermal_ramp", "compute", "memory"):
            worked_s += (_float(stage.get("ended_s")) or 0.0) - (
                _float(stage.get("started_s")) or 0.0
            )
    text = f"{facts.get('reason', '')}".lower()
    return Evidence(
        tuple(looks),
        absent=facts.get("card") is None and bool(facts.get("card_absent")),
        lost=_LEFT in text,
        simulated=bool(facts.get("simulated")),
        outputs=looks_at_outputs(rows),
        elsewhere=tuple(elsewhere),
    )


def _float(value: object) -> float | None:
    """A finite number out of a cell or of JSON, None for anything else."""
    try:
        found = float(str(value))
    except ValueError:
        return None
    return found if math.isfinite(found) else None


def _notes(
    journal: Sequence[Mapping[str, str]], stage: str, text: str
) -> list[Mapping[str, object]]:
    found: list[Mapping[str, object]] = []
    for row in journal:
        if row.get("event") != "Noted" or row.get("stage") != stage:
            continue
        try:
            event = json.loads(row.get("detail", ""))
        except ValueError:
            continue
        if isinstance(event, dict) and event.get("text") == text:
            detail = event.get("detail")
            found.append(detail if isinstance(detail, dict) else {})
    return found


def _look(
    stage: str,
    warm: bool,
    rows: Sequence[Mapping[str, str]],
    journal: Sequence[Mapping[str, str]],
    samples: Sequence[Mapping[str, str]],
) -> LinkLook | None:
    readings = {row["reading"]: row for row in rows if row.get("stage") == stage}
    notes = _notes(journal, stage, _BOTH_ENDS)
    both = notes[-1] if notes else {}
    width_row, speed_row = readings.get("link_width_lanes"), readings.get("link_speed_gts")
    most_width, most_speed, offers = _most(both, width_row, speed_row)
    if most_width is None or most_width < 1.0 or generation_of(most_speed) is None:
        return None
    speeds = _speeds(both, stage, samples)
    width = _float(width_row["value"]) if width_row else None
    counters = _notes(journal, stage, _COUNTERS)
    port = _table(both, "port")
    return LinkLook(
        stage=stage,
        warm=warm,
        most_width=min(16, int(most_width)),
        most_generation=generation_of(most_speed) or 1,
        width=None if width is None else int(width),
        generation=generation_of(
            _float(speed_row["value"]) if speed_row else min(speeds, default=None)
        ),
        top_generation=generation_of(max(speeds, default=None)),
        errors=_errors(counters[-1]) if counters else (None, None),
        lanes=(_lanes(_table(both, "card")), _lanes(port)),
        managed=_flag(port, "bandwidth_managed_after"),
        target_generation=generation_of(_float(port.get("target_speed_gts"))),
        offers=offers,
    )


def _most(
    both: Mapping[str, object], width_row: Mapping[str, str] | None,
    speed_row: Mapping[str, str] | None,
) -> tuple[float | None, float | None, str]:
    """Lanes and GT/s that card and slot offer together, and a sentence where they differ."""
    widths = {e: _float(_table(both, e).get("max_width_lanes")) for e in ENDS}
    speeds = {e: _float(_table(both, e).get("max_speed_gts")) for e in ENDS}
    offers = []
    for values, unit in ((widths, "lanes"), (speeds, "GT/s")):
        card, port = values["card"], values["port"]
        if card is not None and port is not None and card != port:
            offers.append(f"the card offers {card:g} {unit}, the slot {port:g}")
    known_widths = [w for w in widths.values() if w is not None]
    known_speeds = [s for s in speeds.values() if s is not None]
    if known_widths and known_speeds:
        return min(known_widths), min(known_speeds), "; ".join(offers)
    width = _float(width_row["upper_limit"]) if width_row else None
    speed = _float(speed_row["upper_limit"]) if speed_row else None
    return width, speed, ""


def _table(both: Mapping[str, object], end: str) -> Mapping[str, object]:
    found = both.get(end)
    return found if isinstance(found, dict) else {}


def _speeds(
    both: Mapping[str, object], stage: str, samples: Sequence[Mapping[str, str]]
) -> list[float]:
    """Speeds under traffic, GT/s: as the stage noted them, else out of its loaded samples."""
    noted = _table(both, "card").get("speeds_seen_gts")
    if isinstance(noted, list):
        return [value for value in map(_float, noted) if value is not None]
    loaded = [
        row for row in samples if row.get("stage") == stage and row.get("load_share") == "1"
    ]
    if not loaded:
        return []
    begin_s = (_float(loaded[0]["elapsed_s"]) or 0.0) + 1.5
    found = [_float(r["link_speed_gts"]) for r in loaded if (_float(r["elapsed_s"]) or 0) > begin_s]
    return [value for value in found if value is not None]


def _errors(detail: Mapping[str, object]) -> tuple[int | None, int | None]:
    """New errors at card and port; None for an end without counters."""
    errors = detail.get("errors")
    table = errors if isinstance(errors, dict) else {}
    sums: list[int | None] = []
    for end in ENDS:
        counts = [_float(n) for name, n in table.items() if str(name).startswith(f"{end} ")]
        mine = [int(n) for n in counts if n is not None and n >= 0.0]
        sums.append(sum(mine) if mine else None)
    return sums[0], sums[1]


def _lanes(end: Mapping[str, object]) -> frozenset[int] | None:
    lanes = end.get("lane_errors_after")
    if not isinstance(lanes, list):
        return None
    return frozenset(int(n) for n in map(_float, lanes) if n is not None and 0 <= n < 32)


def _flag(table: Mapping[str, object], key: str) -> bool | None:
    value = table.get(key)
    return value if isinstance(value, bool) else None
