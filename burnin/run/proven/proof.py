"""A proof: what one known-good card reached in a slot, taken from the record of its run."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from burnin.core.clock import moment_of
from burnin.core.evidence.heat_sights import COOLING
from burnin.core.meaning import Meaning, Note, Reason
from burnin.core.proven_bench import ProvenOutput, ProvenRail, Slot
from burnin.core.reading import Reading, Verdict, known, reading_subject
from burnin.core.sample import FAN_NAMES
from burnin.core.verdict import Ended, RunVerdict, StageVerdict
from burnin.record.reader import Record
from burnin.replay.verdicts import judge_anew
from burnin.run.proven.meanings import ProofReason
from burnin.stages.link.meanings import LinkNote

_GOOD = (RunVerdict.PASS, RunVerdict.CONDITIONAL)
_REQUIRED = ("link_width_lanes", "link_speed_gts", "new_link_errors")
"""Readings of a link stage that must have passed."""
_FANS = tuple(name for pair in FAN_NAMES for name in pair)
_AT_REST = ("heat_came_to_rest", "cooling_state")
_CLOCK_MAY_LAG = timedelta(minutes=5)
_LINK = "link"


@dataclass(frozen=True)
class Proof:
    """What a known-good card reached in a slot; units and None as in `ProvenBench`.

    `card_lanes`, `card_gts`, `port_lanes`, `port_gts`: the most that either end says that it can.
    `sha256`: of the record's run.json. `boot_id`: the boot of the bench in which it was.
    """

    run_id: str
    record: str
    sha256: str
    started_utc: str
    card: str
    width_lanes: int
    speed_gts: float
    card_lanes: int | None = None
    card_gts: float | None = None
    port_lanes: int | None = None
    port_gts: float | None = None
    error_rate_bound: float | None = None
    to_card_gbs: float | None = None
    to_host_gbs: float | None = None
    ambient_c: float | None = None
    supply_w: float | None = None
    rails: tuple[ProvenRail, ...] = ()
    outputs: tuple[ProvenOutput, ...] = ()
    boot_id: str = ""
    cooled_w: float | None = None

    @property
    def width_limit_lanes(self) -> int | None:
        """The width, where both ends said that they can do more."""
        limited = _less(self.width_lanes, self.card_lanes, self.port_lanes)
        return self.width_lanes if limited else None

    @property
    def speed_limit_gts(self) -> float | None:
        """The speed, where both ends said that they can do more."""
        limited = _less(self.speed_gts, self.card_gts, self.port_gts)
        return self.speed_gts if limited else None


def refusals(record: Record, now: datetime) -> tuple[Reason, ...]:
    """Why a record proves nothing of its bench; empty where it does."""
    run, condition = record.run, record.condition
    found: list[Reason] = []
    card_simulated = run.card is not None and run.card.simulated
    if run.simulated or run.simulated_scenario or run.engine.simulated or card_simulated:
        found.append(ProofReason.SIMULATED())
    if run.card is None or not run.engine.works_card:
        found.append(ProofReason.SOFTWARE())
    if not condition.whole:
        found.append(ProofReason.NOT_WHOLE(flaws=condition.flaws))
    if not condition.vouched:
        found.append(ProofReason.NO_CHECKSUMS())
    if run.ended is not Ended.DONE:
        found.append(ProofReason.NOT_AT_ITS_END())
    elif run.verdict not in _GOOD:
        found.append(ProofReason.RUN_NOT_GOOD(verdict=run.verdict.value))
    if _moment(run.started_utc) > now + _CLOCK_MAY_LAG:
        found.append(ProofReason.FROM_THE_FUTURE(started_utc=run.started_utc))
    if slot_of(record) is None:
        found.append(ProofReason.SLOT_UNTOLD())
    found.extend(_link_not_passed(record))
    anew = judge_anew(record)
    contradicted = (*anew.unsound, *anew.disagreements)
    if contradicted:
        found.append(ProofReason.VERDICT_DOES_NOT_FOLLOW(reasons=contradicted))
    return tuple(found)


def slot_of(record: Record) -> Slot | None:
    """The slot that a record's card sat in; None where the record does not tell."""
    shown = record.run.bench_shown
    return shown.slot if shown is not None and shown.slot.known else None


def proof_of(record: Record) -> Proof:
    """What a record shows of its slot; `refusals` has been asked before."""
    run = record.run
    card = run.card
    name = "" if card is None else known(card.name) or f"{card.vendor_id:04x}:{card.device_id:04x}"
    serial = None if card is None else known(card.serial)
    ends = _ends(record)
    return Proof(
        run_id=run.run_id,
        record=str(record.folder),
        sha256=record.sha256("run.json"),
        started_utc=run.started_utc,
        card=f"{name}, {serial}" if serial else name,
        width_lanes=int(_least(record, "link_width_lanes") or 0),
        speed_gts=_least(record, "link_speed_gts") or 0.0,
        card_lanes=_whole(ends["card"], "max_width_lanes"),
        card_gts=_number(ends["card"], "max_speed_gts"),
        port_lanes=_whole(ends["port"], "max_width_lanes"),
        port_gts=_port_gts(ends["port"]),
        error_rate_bound=_bound(record),
        to_card_gbs=_least(record, "copy_to_card_gbs"),
        to_host_gbs=_least(record, "copy_to_host_gbs"),
        ambient_c=_least(record, "ambient_c"),
        supply_w=_most_power_w(record),
        cooled_w=_cooled_w(record),
        outputs=_outputs(record),
        boot_id=known(run.bench.get("boot_id", "")) or "",
    )


def _link_not_passed(record: Record) -> list[Reason]:
    stages = [row.stage for row in record.run.stages if row.kind == _LINK and not row.taken_over]
    if not stages:
        return [ProofReason.NO_LINK_STAGE()]
    found: list[Reason] = []
    for stage in stages:
        its_own = {r.name: r for r in record.readings if r.stage == stage}
        missing = tuple(
            name
            for name in _REQUIRED
            if name not in its_own or its_own[name].verdict is not Verdict.PASS
        )
        bad = tuple(r.name for r in its_own.values() if r.verdict in (Verdict.FAIL, Verdict.UNSURE))
        names = tuple(dict.fromkeys((*missing, *bad)))
        if names:
            found.append(ProofReason.LINK_NOT_PASSED(stage=stage, readings=names))
    return found


def _numbers(record: Record, name: str) -> list[float]:
    return [
        float(r.value)
        for r in record.readings
        if r.name == name and isinstance(r.value, int | float) and _counts(r)
    ]


def _counts(reading: Reading) -> bool:
    return reading.verdict in (None, Verdict.PASS)


def _least(record: Record, name: str) -> float | None:
    return min(_numbers(record, name), default=None)


def _bound(record: Record) -> float | None:
    """The worse of both directions."""
    ways = [_numbers(record, f"error_rate_per_lane {way}") for way in ("to_card", "to_host")]
    return max(min(way) for way in ways) if all(ways) else None


def _most_power_w(record: Record) -> float | None:
    watts = [known(sample.telemetry.power_w) for sample in record.samples()]
    return max((w for w in watts if w is not None), default=None)


def _cooled_w(record: Record) -> float | None:
    """Most that a ramp held with all its heat within limits, on a card that tells of no fan."""
    if any(known(getattr(s.telemetry, n)) is not None for s in record.samples() for n in _FANS):
        return None
    held: list[float] = []
    for row in record.run.stages:
        readings = record.readings_of(row.stage)
        hot = [r for r in readings if reading_subject(r.name)[0] in COOLING]
        judged = [r for r in hot if r.verdict is not None and r.limit is not None]
        rests = [r for r in readings if r.name in _AT_REST]
        good = all(r.verdict is Verdict.PASS for r in (*judged, *rests))
        if row.verdict is StageVerdict.PASS and good and (judged or rests):
            held += [float(r.value) for r in readings if r.name == "power_w"
                     and isinstance(r.value, int | float)]
    return max(held, default=None)


def _outputs(record: Record) -> tuple[ProvenOutput, ...]:
    """Outputs of which everything that was judged passed, and whose monitor gave a sound EDID."""
    found: list[ProvenOutput] = []
    for reading in record.readings:
        head, _, output = reading.name.partition(" ")
        if head != "edid" or reading.verdict is not Verdict.PASS:
            continue
        of_it = [r for r in record.readings if r.name.partition(" ")[2] == output]
        if any(r.verdict in (Verdict.FAIL, Verdict.UNSURE) for r in of_it):
            continue
        names = [r.value for r in of_it if r.name.startswith("monitor ")]
        monitor = next((name for name in names if isinstance(name, str)), "")
        found.append(ProvenOutput(output, monitor))
    return tuple({proven.output: proven for proven in found}.values())


def _ends(record: Record) -> Mapping[str, Meaning | None]:
    notes = [entry.note() for entry in record.events("Noted")]
    both: list[Note] = [n for n in notes if n is not None and n.means(LinkNote.BOTH_ENDS)]
    if not both:
        return {"card": None, "port": None}
    data = dict(both[-1].data)
    ends = {name: data.get(name) for name in ("card", "port")}
    return {name: end if isinstance(end, Meaning) else None for name, end in ends.items()}


def _number(end: Meaning | None, name: str) -> float | None:
    value = None if end is None else dict(end.data).get(name)
    return float(value) if isinstance(value, int | float) else None


def _whole(end: Meaning | None, name: str) -> int | None:
    value = _number(end, name)
    return None if value is None else int(value)


def _port_gts(port: Meaning | None) -> float | None:
    """The most that the port can, or is held at."""
    most, held = _number(port, "max_speed_gts"), _number(port, "target_speed_gts")
    return min((gts for gts in (most, held) if gts is not None), default=None)


def _less(reached: float, card: float | None, port: float | None) -> bool:
    return card is not None and port is not None and reached < min(card, port)


def _moment(text: str) -> datetime:
    return moment_of(text) or datetime.max.replace(tzinfo=UTC)
