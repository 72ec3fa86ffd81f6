"""The evidence that a record holds, read through the one reader and by code."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from burnin.core.meaning import Meaning, Note, Reason, Value
from burnin.core.parties import PartyReason
from burnin.core.proven_bench import ProvenBench
from burnin.core.reading import Reading, known
from burnin.core.sample import Sample
from burnin.core.verdict import StageVerdict, VerdictReason
from burnin.diagnosis.evidence import Evidence, LinkLook, generation_of, in_order
from burnin.diagnosis.meanings import Seen
from burnin.diagnosis.outputs.looks import looks_at_outputs
from burnin.diagnosis.start.counted_starts import counted_starts
from burnin.engine.meanings import EngineReason
from burnin.guard.meanings import GuardReason
from burnin.record.reader import Record, read_record
from burnin.run.reasons import RunReason
from burnin.stages.link.meanings import LinkNote

ENDS = ("card", "port")
LEFT_THE_BUS = (
    GuardReason.CARD_GONE,
    EngineReason.CARD_LOST,
    RunReason.CARD_GONE,
    RunReason.CARD_GONE_AT_WORK,
)
"""Every code that says that a card was there and answers no more."""
_HEATING = ("thermal_ramp", "compute", "memory")
_WARM_S = 120.0
"""A link stage after that long a stage of work counts as one of a warm card."""
_SETTLE_S = 1.5
"""A card that lowered its link speed when idle needs a moment to raise it again."""


_TOLD_BY_OTHERS = ("display", "cold_starts")
"""Stages whose outputs and starts are evidence themselves."""


def read_evidence(folder: Path) -> Evidence:
    """The evidence in a record's folder; raises RecordError where it is no record."""
    return evidence_of(read_record(folder))


def evidence_of(record: Record) -> Evidence:
    """The evidence in a record."""
    run = record.run
    looks: list[LinkLook] = []
    elsewhere: list[Reason] = []
    worked_s = 0.0
    for stage in run.stages:
        if stage.kind == "link":
            look = _look(record, stage.stage, worked_s >= _WARM_S)
            if look is not None:
                looks.append(look)
            continue
        failed = stage.verdict in (StageVerdict.FAIL, StageVerdict.ABORTED)
        if failed and stage.kind not in _TOLD_BY_OTHERS and not left_the_bus(stage.reasons):
            because = VerdictReason.STAGE_BECAUSE(stage=stage.stage, reasons=stage.reasons)
            elsewhere.append(because)
        if stage.kind in _HEATING:
            worked_s += (stage.ended_s or 0.0) - (stage.started_s or 0.0)
    absent = run.card_absent
    return Evidence(
        in_order(looks),
        starts=counted_starts(record),
        absent=absent is not None and absent.means(RunReason.NOTHING_ENUMERATED),
        lost=left_the_bus([run.reason]),
        simulated=run.simulated,
        outputs=looks_at_outputs(record.all_readings, _proven_outputs(record)),
        elsewhere=tuple(elsewhere),
        deciding=tuple(_deciding(record)),
    )


def _deciding(record: Record) -> Iterator[tuple[str, Reason]]:
    """Stages beside link and outputs whose failing is not laid to the card alone, and to whom."""
    kinds = {stage.stage: stage.kind for stage in record.run.stages}
    found = {
        (owed.stage, owed.reason): None
        for owed in record.run.owed
        if owed.reason.means(PartyReason.TO_DECIDE)
        and kinds.get(owed.stage, owed.stage) not in ("link", "display")
    }
    yield from found


def _proven_outputs(record: Record) -> frozenset[str]:
    """Outputs whose monitor and cable the bench had shown to be good."""
    shown = record.run.bench_shown
    return (
        frozenset(o.output for o in shown.outputs)
        if isinstance(shown, ProvenBench)
        else frozenset()
    )


def left_the_bus(reasons: Iterable[Reason]) -> bool:
    """Whether one of the reasons, or a reason inside it, says that the card answers no more."""
    return any(part.means(*LEFT_THE_BUS) for reason in reasons for part in reason.parts())


@dataclass(frozen=True)
class _End:
    """One end of the link as the stage noted it; nothing where it could not be read."""

    note: Meaning | None

    def value(self, name: str) -> Value:
        """A datum by its name, None where there is none."""
        return None if self.note is None else dict(self.note.data).get(name)

    def number(self, name: str) -> float | None:
        """A finite number, None for anything else."""
        return _number(self.value(name))

    def numbers(self, name: str) -> tuple[float, ...] | None:
        """Every finite number of several values, None where there are none."""
        values = self.value(name)
        if not isinstance(values, tuple):
            return None
        return tuple(number for number in map(_number, values) if number is not None)


def _number(value: Value) -> float | None:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    with suppress(OverflowError):  # an edited file may hold an integer of any size
        return float(value) if math.isfinite(value) else None
    return None


def _look(record: Record, stage: str, warm: bool) -> LinkLook | None:
    readings = {r.name: r for r in record.all_readings if r.stage == stage}
    both = _last_note(record, stage, LinkNote.BOTH_ENDS)
    card, port = (_end(both, name) for name in ENDS)
    width_read, speed_read = readings.get("link_width_lanes"), readings.get("link_speed_gts")
    most_width, most_speed, offers = _most(card, port, width_read, speed_read)
    if most_width is None or most_width < 1.0 or generation_of(most_speed) is None:
        return None
    speeds = card.numbers("speeds_seen_gts")
    if speeds is None:
        speeds = _loaded_speeds(record.samples(), stage)
    width = _value(width_read)
    managed = port.value("bandwidth_managed_after")
    return LinkLook(
        stage=stage,
        warm=warm,
        most_width=min(16, int(most_width)),
        most_generation=generation_of(most_speed) or 1,
        width=None if width is None else int(width),
        generation=generation_of(_value(speed_read) if speed_read else min(speeds, default=None)),
        top_generation=generation_of(max(speeds, default=None)),
        errors=_errors(_last_note(record, stage, LinkNote.COUNTERS)),
        lanes=(_lanes(card, "lane_errors_after"), _lanes(port, "lane_errors_after")),
        stuck=(
            _lanes(card, "lane_errors_before") or frozenset(),
            _lanes(port, "lane_errors_before") or frozenset(),
        ),
        managed=managed if isinstance(managed, bool) else None,
        target_generation=_at_most(
            generation_of(port.number("target_speed_gts")), generation_of(most_speed) or 1
        ),
        offers=offers,
    )


def _last_note(record: Record, stage: str, code: LinkNote) -> Note | None:
    """The last note of that code of a stage."""
    found = None
    for entry in record.events("Noted"):
        note = entry.note() if entry.stage == stage else None
        if note is not None and note.means(code):
            found = note
    return found


def _end(both: Note | None, name: str) -> _End:
    end = _End(both).value(name)
    return _End(end if isinstance(end, Meaning) else None)


def _value(reading: Reading | None) -> float | None:
    """The reading's number, None where it has none."""
    return None if reading is None else _number(reading.value)


def _most(
    card: _End, port: _End, width: Reading | None, speed: Reading | None
) -> tuple[float | None, float | None, tuple[Note, ...]]:
    """Lanes and GT/s that card and slot offer together, and where they differ."""
    widths = (card.number("max_width_lanes"), port.number("max_width_lanes"))
    speeds = (card.number("max_speed_gts"), port.number("max_speed_gts"))
    offers: list[Note] = []
    if None not in widths and widths[0] != widths[1]:
        offers.append(Seen.LANES_OFFERED(card_lanes=widths[0], slot_lanes=widths[1]))
    if None not in speeds and speeds[0] != speeds[1]:
        offers.append(Seen.SPEEDS_OFFERED(card_gts=speeds[0], slot_gts=speeds[1]))
    known_widths = [w for w in widths if w is not None]
    known_speeds = [s for s in speeds if s is not None]
    if known_widths and known_speeds:
        return min(known_widths), min(known_speeds), tuple(offers)
    return _upper(width), _upper(speed), ()


def _upper(reading: Reading | None) -> float | None:
    """The upper bound that the reading was judged by."""
    return None if reading is None or reading.limit is None else reading.limit.upper


def _loaded_speeds(samples: Iterable[Sample], stage: str) -> tuple[float, ...]:
    """Speeds under traffic, GT/s, out of a stage's loaded samples once they have settled."""
    found: list[float] = []
    begin_s: float | None = None
    for sample in samples:
        if sample.stage != stage or sample.load_share != 1.0:
            continue
        if begin_s is None:
            begin_s = sample.elapsed_s + _SETTLE_S
        speed = known(sample.telemetry.link_speed_gts)
        if speed is not None and sample.elapsed_s > begin_s:
            found.append(speed)
    return tuple(found)


def _errors(counters: Note | None) -> tuple[int | None, int | None]:
    """New errors at card and port; None for an end without counters."""
    listed = _End(counters).value("errors")
    rows = [row for row in listed if isinstance(row, Meaning)] if isinstance(listed, tuple) else []
    sums: list[int | None] = []
    for end in ENDS:
        counts = [
            _End(row).number("increase") for row in rows
            if str(_End(row).value("counter")).startswith(f"{end} ")
        ]  # fmt: skip
        mine = [int(n) for n in counts if n is not None and n >= 0.0]
        sums.append(sum(mine) if mine else None)
    return sums[0], sums[1]


def _lanes(end: _End, when: str) -> frozenset[int] | None:
    lanes = end.numbers(when)
    return None if lanes is None else frozenset(int(n) for n in lanes if 0 <= n < 32)


def _at_most(generation: int | None, most: int) -> int | None:
    """A port that aims higher than the card can go holds nothing back."""
    return None if generation is None else min(generation, most)
