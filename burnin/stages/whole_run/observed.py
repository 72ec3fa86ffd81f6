"""What a run observed that tells the card from the bench, out of its events, live or on record."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from burnin.connector.contact_map import LANE_GROUPS, contacts
from burnin.core.events import (
    CountersRead,
    Event,
    Noted,
    Publish,
    RunStarted,
    SampleTaken,
    StageStarted,
    TrafficSummed,
)
from burnin.core.evidence.seen import HeatSeen, LinkSeen, PadSeen, Seen
from burnin.core.meaning import Meaning, Value
from burnin.core.parties import PartyNote
from burnin.core.proven_bench import BenchShown
from burnin.core.reading import NotMeasured, Reading, Verdict
from burnin.core.sample import Sample
from burnin.core.verdict import stage_title
from burnin.stages.error_table import Told, kind_of, way_of
from burnin.stages.link.meanings import LinkNote
from burnin.stages.meanings import StagesReason
from burnin.stages.thermal_ramp.meanings import ThermalRampReason
from burnin.stages.whole_run.closing_readings import (
    fell_only_warm,
    speed_breaches,
    width_breaches,
)
from burnin.stages.whole_run.error_watch import BESIDE_TRAFFIC, ErrorWatch
from burnin.stages.whole_run.watch import RunWatch

LINK_ERRORS = "link_errors"
"""Of `CountersRead`: the error counters at both ends of the link, over the whole run."""


class Observed:
    """Collects a run's samples, link notes and sums of traffic as they come."""

    def __init__(self) -> None:
        self.watch = RunWatch()
        self.errors = ErrorWatch()
        self.titles: dict[str, Value] = {}
        self._lanes: dict[str, set[int]] = {}
        self._sum_errors: dict[str, dict[str, int]] = {}
        self._target_gts: float | None = None
        self._managed: set[bool] = set()
        self._autonomous: set[bool] = set()
        self._pads: dict[str, PadSeen] = {}
        self._beside = False

    def event(self, event: Event) -> None:
        """Take in an event of a run that goes on."""
        if isinstance(event, SampleTaken):
            self.sample(event.sample)
        elif isinstance(event, StageStarted):
            self.stage(event.stage, event.kind, event.own_title)
        elif isinstance(event, Noted):
            self.note(event.note)
        elif isinstance(event, TrafficSummed):
            self.traffic(event)
        elif isinstance(event, CountersRead):
            self.counters(event)
        elif isinstance(event, RunStarted):
            self.gone_on()

    def gone_on(self) -> None:
        """The run goes on after an interruption; nothing where nothing came before."""
        self.watch.gone_on()
        self.errors.gone_on()

    def stage(self, name: str, kind: str, own_title: str) -> None:
        """Remember a stage's title."""
        self.titles[name] = stage_title(kind, own_title)

    def sample(self, sample: Sample) -> None:
        """Take in a sample."""
        self.watch.add(sample)

    def traffic(self, told: TrafficSummed) -> None:
        """Take in a link stage's sums."""
        self.errors.moved(told)
        self._sum_errors[told.stage] = dict(told.errors)

    def counters(self, told: CountersRead) -> None:
        """Take in what the link's error counters stood at; others speak of a stage alone."""
        if told.of == LINK_ERRORS:
            missing = told.missing
            self.errors.look(told.counters if missing is None else NotMeasured(missing))

    def note(self, note: Meaning) -> None:
        """Take in what both ends of the link showed, and what the meter said of repaired pads."""
        if note.means(PartyNote.PADS_GOOD, PartyNote.PADS_BAD):
            self._pads |= _pads(note)
        if note.means(LinkNote.POSITION):
            self._beside = self._beside or bool(note["beside"])
        if not note.means(LinkNote.BOTH_ENDS):
            return
        for end in ("card", "port"):
            told = note[end]
            if not isinstance(told, Meaning):
                continue
            before, after = _lanes(told["lane_errors_before"]), _lanes(told["lane_errors_after"])
            if before is not None and after is not None:
                self._lanes.setdefault(end, set()).update(after - before)
            if end == "port":
                self._port(told)

    def _port(self, told: Meaning) -> None:
        target = told["target_speed_gts"]
        if isinstance(target, int | float):
            self._target_gts = float(target)
        managed, autonomous = told["bandwidth_managed_after"], told["bandwidth_autonomous_after"]
        if isinstance(managed, bool):
            self._managed.add(managed)
        if isinstance(autonomous, bool):
            self._autonomous.add(autonomous)

    def publishing(self, publish: Publish) -> Publish:
        """Pass events on, and take each in."""

        def put(event: Event) -> None:
            publish(event)
            self.event(event)

        return put

    def seen(self, bench: BenchShown | None, readings: Sequence[Reading] = ()) -> Seen:
        """All of it; `bench` is what the card's slot had shown before, `readings` the run's."""
        watch = self.watch
        lanes, _ = width_breaches(watch)
        gts, _ = speed_breaches(watch)
        errors = self._errors_by_end(readings)
        quiet = bool(errors) and not any(errors.values())
        watch.course.end()
        return Seen(
            bench=bench,
            link=LinkSeen(
                errors=errors,
                lanes={end: tuple(sorted(found)) for end, found in self._lanes.items()},
                most_lanes=lanes,
                most_gts=gts,
                lowered_by_system=quiet and self._autonomous == {True} and self._managed == {False},
                target_gts=self._target_gts,
                fell_warm=fell_only_warm(watch) is not None,
                beyond_chance=_beyond_chance(readings),
                beside=self._beside,
                retrained=True in self._managed,
            ),
            heat=HeatSeen(
                rest_c=dict(watch.rest_c),
                most_c=dict(watch.most_c),
                scattered=dict(watch.sensors.scattered),
                leapt=frozenset(watch.sensors.leapt),
                own_fans=watch.own_fans,
                ran_down=frozenset(watch.fans.ran_down),
                keeps_rising=watch.course.keeps_rising,
                turned=watch.turn.turned,
                difference_passed=watch.sensors.difference.passed,
            ),
            power=watch.power.told(_limit_in_force_w(readings)),
            on_the_bus=watch.presence[-1].value if watch.presence else None,
            pads=tuple(self._pads.values()),
        )

    def _errors_by_end(self, readings: Sequence[Reading]) -> Mapping[str, int]:
        """Damaged packets and messages by end, under traffic and as the closing part names them."""
        found: dict[str, int] = {}
        for counts in self._sum_errors.values():
            for name, rise in counts.items():
                _count(found, name, rise)
        whole: dict[str, int] = {}
        for reading in readings:
            if reading.name != BESIDE_TRAFFIC or reading.reason is None:
                continue
            for part in reading.reason.parts():
                if part.means(StagesReason.COUNTER_ROSE):
                    times = part["rise_count"]
                    _count(whole, str(part["counter"]), times if isinstance(times, int) else 0)
        return {end: found.get(end, 0) + whole.get(end, 0) for end in found | whole}


def _count(by_end: dict[str, int], counter: str, rise: int) -> None:
    """Count what arrived damaged at the end that received it, whoever counted.

    Receiver errors are left out: they come with every change of speed as well.
    """
    end, kind = counter.partition(" ")[0], kind_of(counter)
    if kind is None or kind.told not in (Told.PACKET, Told.LINK_MESSAGE):
        return
    receiver = "card" if way_of(end, kind) == "to_card" else "port"
    by_end[receiver] = max(by_end.get(receiver, 0), rise)


def _beyond_chance(readings: Sequence[Reading]) -> frozenset[str]:
    """Ends at which more errors arrived than a sound link makes by chance."""
    ends = {"link_errors to_card": "card", "link_errors to_host": "port"}
    failed = (r.name for r in readings if r.verdict is Verdict.FAIL)
    return frozenset(ends[name] for name in failed if name in ends)


def _pads(note: Meaning) -> dict[str, PadSeen]:
    """Repaired contacts of the edge; what carries neither a lane nor power is left out."""
    told, known_ones = note["contacts"], contacts()
    good = note.means(PartyNote.PADS_GOOD)
    found: dict[str, PadSeen] = {}
    for name in told if isinstance(told, tuple) else ():
        contact = known_ones.get(str(name))
        if contact is not None:
            carries = "link" if contact.group in LANE_GROUPS else _carries(contact.group)
            found[contact.name] = PadSeen(contact.name, carries, contact.lane, good)
    return found


def _carries(group: str) -> str:
    return "supply" if group.startswith("power") else "link"


def _limit_in_force_w(readings: Sequence[Reading]) -> float | None:
    """The limit that a card told to be in force below its own, where a ramp came upon it."""
    for reading in readings:
        why = reading.reason
        if why is None or not why.means(ThermalRampReason.BELOW_OWN_POWER):
            continue
        set_w, own_w = why["set_limit_w"], why["limit_w"]
        if isinstance(set_w, int | float) and isinstance(own_w, int | float) and set_w < own_w:
            return float(set_w)
    return None


def _lanes(told: Value) -> set[int] | None:
    if not isinstance(told, tuple):
        return None
    return {lane for lane in told if isinstance(lane, int)}
