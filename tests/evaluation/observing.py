"""What the link stages of a run would put on record, taken straight from a simulated bench.

The same readers and the same differences of counters as in a run; no record, no terminal. Between
the two looks the card's parts are set to the temperature that a heat run leaves behind.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from random import Random

from burnin.card.capabilities import Counter
from burnin.card.sources.linux_card import LinuxBench, LinuxCard
from burnin.core.reading import NotMeasured, known
from burnin.diagnosis.evidence import Evidence, LinkLook, generation_of
from burnin.engine.job import LinkTraffic
from burnin.sim.bench import SimulatedBench, simulated_bench
from burnin.sim.scenario.model import Scenario
from burnin.stages.counters import difference

WARM_BOARD_C = 48.0
_SETTLE_S, _STEP_S = 1.5, 0.5


@dataclass(frozen=True)
class Haze:
    """What keeps a bench from seeing all: privileges, firmware, readings that err."""

    lane_registers: bool = True
    counters: bool = True
    port: bool = True
    misread: Random | None = None


def observe(scenario: Scenario, seed: int, cold_s: float = 10.0, warm_s: float = 6.0) -> Evidence:
    """Two looks at the link, cold and warm, seen with full privileges and without error."""
    bench = simulated_bench(scenario, seed)
    cards = LinuxBench(bench.files, simulated=True).linux_cards()
    if not cards:
        return Evidence((), absent=True, simulated=True)
    looks = [_look(bench, cards[0], "3-link", False, cold_s)]
    if bench.machine.card_answers:
        network = bench.machine.network
        network.temp_c = [WARM_BOARD_C] * len(network.temp_c)
        bench.machine.load_s += 360.0
        bench.clock.sleep_s(3.0)
        looks.append(_look(bench, cards[0], "7-link", True, warm_s))
    lost = not bench.machine.card_answers
    return Evidence(tuple(look for look in looks if look is not None), lost=lost, simulated=True)


def _look(
    bench: SimulatedBench, card: LinuxCard, stage: str, warm: bool, seconds: float
) -> LinkLook | None:
    most = card.link()
    before = card.error_counters()
    bench.engine.begin(LinkTraffic(seconds))
    widths: list[int] = []
    speeds: list[float] = []
    begin_s = bench.clock.monotonic_s()
    while bench.clock.monotonic_s() - begin_s < seconds - 1e-6:
        bench.engine.beat()
        bench.clock.sleep_s(_STEP_S)
        end = card.link().card
        width, speed = known(end.width_lanes), known(end.speed_gts)
        if width is not None:
            widths.append(width)
        if speed is not None and bench.clock.monotonic_s() - begin_s >= _SETTLE_S:
            speeds.append(speed)
        if not bench.machine.card_answers:
            return None
    bench.engine.poll()
    bench.engine.stop()
    errors = _errors(before, card.error_counters())
    assert not isinstance(most.port, NotMeasured)
    most_width = min(known(most.card.max_width_lanes) or 0, known(most.port.max_width_lanes) or 0)
    most_speed = min(known(most.card.max_speed_gts) or 0, known(most.port.max_speed_gts) or 0)
    port = card.configuration_space_at("port")
    link = None if isinstance(port, NotMeasured) else known(port.link())
    return LinkLook(
        stage=stage,
        warm=warm,
        most_width=most_width,
        most_generation=generation_of(most_speed) or 1,
        width=min(widths),
        generation=generation_of(min(speeds)),
        top_generation=generation_of(max(speeds)),
        errors=errors,
        lanes=(_lanes(card, "card"), _lanes(card, "port")),
        managed=None if link is None else link.bandwidth_managed,
        target_generation=None if link is None else generation_of(known(link.target_speed_gts)),
    )


def _errors(
    before: tuple[Counter, ...] | NotMeasured, after: tuple[Counter, ...] | NotMeasured
) -> tuple[int | None, int | None]:
    if isinstance(before, NotMeasured) or isinstance(after, NotMeasured):
        return None, None
    change = difference(before, after).errors
    card, port = (
        sum(n for name, n in change.items() if name.startswith(end)) for end in ("card ", "port ")
    )
    return card, port


def _lanes(card: LinuxCard, end: str) -> frozenset[int] | None:
    space = card.configuration_space_at(end)
    if isinstance(space, NotMeasured):
        return None
    lanes = known(space.lane_errors())
    return None if lanes is None else frozenset(lanes)


def hazy(evidence: Evidence, haze: Haze) -> Evidence:
    """The evidence as a bench with that haze puts it on record."""
    looks = tuple(_hazy_look(look, haze) for look in evidence.looks)
    return replace(evidence, looks=looks)


def _hazy_look(look: LinkLook, haze: Haze) -> LinkLook:
    width, generation, errors, lanes = look.width, look.generation, look.errors, look.lanes
    if haze.misread is not None:
        chance = haze.misread
        if chance.random() < 0.001 and width is not None:
            width = chance.choice([w for w in (1, 2, 4, 8, 16) if w != width])
        if chance.random() < 0.01 and generation is not None and generation > 1:
            generation -= 1
        errors = tuple(  # a stray error of a sound link, in a few looks of a hundred
            n if n is None or chance.random() > 0.02 else n + chance.randint(1, 3) for n in errors
        )[:2]  # type: ignore[assignment]
        lanes = tuple(
            None if found is None else frozenset(n for n in found if chance.random() > 0.05)
            for found in lanes
        )  # type: ignore[assignment]
    if not haze.port:
        errors, lanes = (errors[0], None), (lanes[0], None)
    return replace(
        look,
        width=width,
        generation=generation,
        errors=errors if haze.counters else (None, None),
        lanes=lanes if haze.lane_registers else (None, None),
        managed=look.managed if haze.port and haze.lane_registers else None,
        target_generation=look.target_generation if haze.port and haze.lane_registers else None,
    )


