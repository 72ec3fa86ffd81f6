"""The bench of a run opened: real or simulated, a card picked, an engine at hand."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import cast

from burnin.card.answers_in_time import Patience, answering_in_time
from burnin.card.capabilities import Bench, Card
from burnin.card.files import BenchFiles
from burnin.card.kernel_log.log import KernelLog, open_kernel_log
from burnin.card.kernel_log.meanings import KernelReason
from burnin.core import seams
from burnin.core.clock import Clock, WallClock
from burnin.core.errors import BadInput, EngineUnavailable, NoCard
from burnin.core.identity import Identity
from burnin.core.meaning import Reason
from burnin.core.proven_bench import BenchShown
from burnin.core.reading import NotMeasured, known
from burnin.engine.engine import Engine
from burnin.run.card_lock import CardLock, lock_card
from burnin.run.reasons import RunReason, RunRefusal
from burnin.stages.boot import NOBODY_ASKED, Boot, read_boot
from burnin.stages.context import Prompter


@dataclass(frozen=True)
class Options:
    """What the technician asked for: which bench, which card, what makes it work.

    `simulated` names a scenario or its file, empty: the real bench; `seed` and `pace` are the
    simulated machine's (`pace` in simulated seconds a second, 0: as fast as it goes).
    """

    simulated: str = ""
    seed: int = 1
    pace: float = 0.0
    address: str = ""
    engine: str = ""
    software_vulkan: bool = False


@dataclass(frozen=True)
class BenchSource:
    """What stands in for a real bench; a member of the seam of benches returns one.

    `label` names the scenario; `attached` the outputs with a monitor plugged in, which a technician
    would know; `shown` what known-good cards are said to have shown there; `technician` answers
    prompts where nobody sits at a terminal.
    """

    files: BenchFiles
    engine: Engine | NotMeasured
    clock: Clock
    label: str
    attached: frozenset[str]
    shown: BenchShown | None = None
    technician: Prompter | None = None


_NO_LOG = NotMeasured(KernelReason.NOT_THIS_MACHINE())
OpenSource = Callable[[str, int, "float | None", str], BenchSource]
"""Opens a stand-in from a scenario, a seed, a pace (None: as fast as it goes), and the address of
the card that is to be worked (empty: the only one)."""


@dataclass(frozen=True)
class OpenBench:
    """A bench with one card picked and the engine that works it.

    `identity` is None and `no_card` set where software works the bench's processor instead of a
    card; `scenario`, `attached`, `shown` and `technician` are the simulated machine's.
    """

    bench: Bench
    card: Card
    identity: Identity | None
    cards_found: int
    engine: Engine | NotMeasured
    clock: Clock
    other_cards: tuple[Card, ...] = ()
    no_card: Reason | None = None
    scenario: str = ""
    attached: frozenset[str] | None = None
    boot: Boot | NotMeasured = NOBODY_ASKED
    shown: BenchShown | None = None
    lock: CardLock | None = None
    kernel_log: KernelLog | NotMeasured = _NO_LOG
    technician: Prompter | None = None

    def close(self) -> None:
        """Let others have the card, and hear the kernel no longer; the engine ends in its run."""
        if not isinstance(self.kernel_log, NotMeasured):
            self.kernel_log.close()
        if self.lock is not None:
            self.lock.release()


@dataclass(frozen=True)
class _NoNumbers:
    """In the place of a card's numbers where there is no card."""

    address: str = ""
    vendor_id: int = 0
    device_id: int = 0


def open_bench_for(options: Options) -> OpenBench:
    """Open the real bench or the simulated machine; raises NoCard with what to do about it."""
    if options.simulated:
        return _open_simulated(options)
    from burnin.card.files import HostFiles
    from burnin.card.merge import open_bench

    bench = open_bench(HostFiles(), this_machine=True)
    if options.software_vulkan:
        return _open_software(bench, options)
    clock = WallClock()
    cards = _in_time(bench, clock)
    card = pick(cards, options.address)
    identity = card.identity()
    others = tuple(c for c in cards if c is not card)
    serials = [s for c in cards if (s := known(c.identity().serial)) is not None]
    lock = lock_card(identity, serials=serials)  # before the engine touches the card
    try:
        return OpenBench(
            bench,
            card,
            identity,
            len(cards),
            _engine_for(identity, options, _place_among_alike(identity, others)),
            clock,
            other_cards=others,
            boot=read_boot(HostFiles()),
            lock=lock,
            kernel_log=open_kernel_log(HostFiles(), this_machine=True),
        )
    except BaseException:
        lock.release()
        raise


def cards_of_bench(options: Options) -> tuple[Card, ...]:
    """Every card of the real bench or the simulated machine, to be looked at; none is opened."""
    from burnin.card.files import HostFiles
    from burnin.card.merge import open_bench

    if not options.simulated:
        return _in_time(open_bench(HostFiles(), this_machine=True), WallClock())
    open_source = cast(OpenSource, seams.member("benches", "simulated"))
    source = open_source(options.simulated, options.seed, None, "")
    return _in_time(open_bench(source.files, this_machine=False, simulated=True), source.clock)


def _engine_for(
    identity: Identity, options: Options, among_alike: int = 0
) -> Engine | NotMeasured:
    from burnin.engine.choose import open_engine

    try:
        return open_engine(
            identity, options.engine or None, software=False, among_alike=among_alike
        )
    except EngineUnavailable as error:
        if options.engine:
            raise
        return NotMeasured(error.reason)


def _place_among_alike(identity: Identity, others: Sequence[Card]) -> int:
    """Which of several cards with the same numbers it is, in bus order, as drivers list them."""
    numbers = (identity.vendor_id, identity.device_id)
    alike = [
        other.address
        for other in (card.identity() for card in others)
        if (other.vendor_id, other.device_id) == numbers
    ]
    return sum(address < identity.address for address in alike)


def _open_software(bench: Bench, options: Options) -> OpenBench:
    from burnin.card.absent import AbsentCard
    from burnin.engine.choose import open_engine

    engine = open_engine(_NoNumbers(), options.engine or None, software=True)
    reason = RunReason.SOFTWARE_WORKS_PROCESSOR()
    return OpenBench(bench, AbsentCard(reason), None, 0, engine, WallClock(), no_card=reason)


def _open_simulated(options: Options) -> OpenBench:
    """The machine comes through the seam of benches: nothing here imports it."""
    from burnin.card.merge import open_bench

    if options.engine or options.software_vulkan:
        raise BadInput(RunRefusal.OWN_ENGINE())
    open_source = cast(OpenSource, seams.member("benches", "simulated"))
    source = open_source(options.simulated, options.seed, options.pace or None, options.address)
    bench = open_bench(source.files, this_machine=False, simulated=True)
    cards = _in_time(bench, source.clock)
    card = pick(cards, options.address)
    return OpenBench(
        bench,
        card,
        card.identity(),
        len(cards),
        source.engine,
        source.clock,
        scenario=source.label,
        attached=source.attached,
        boot=read_boot(source.files),
        shown=source.shown,
        technician=source.technician,
        other_cards=tuple(c for c in cards if c is not card),
        kernel_log=open_kernel_log(source.files, this_machine=False),
    )


def _in_time(bench: Bench, clock: Clock) -> tuple[Card, ...]:
    """The bench's cards, each asked with a time limit: one driver's silence holds up nobody."""
    patience = Patience()
    return tuple(answering_in_time(card, clock, patience) for card in bench.cards())


def pick(cards: tuple[Card, ...], address: str) -> Card:
    """The card at an address, or the only one; raises NoCard or BadInput in plain words."""
    if not cards:
        raise NoCard(RunRefusal.NO_CARD())
    if address:
        wanted = address if address.count(":") == 2 else f"0000:{address}"
        for card in cards:
            if card.identity().address.lower() == wanted.lower():
                return card
        raise BadInput(
            RunRefusal.NO_CARD_AT(address=address, there=tuple(c.identity().address for c in cards))
        )
    if len(cards) > 1:
        raise BadInput(
            RunRefusal.SEVERAL_CARDS(
                count=len(cards), there=tuple(card_text(c.identity()) for c in cards)
            )
        )
    return cards[0]


def card_text(identity: Identity) -> str:
    """A card on one line: name, ids, address, memory."""
    name = known(identity.name)
    ids = f"{identity.vendor_id:04x}:{identity.device_id:04x}"
    memory = known(identity.memory_bytes)
    size = f", {memory / (1 << 30):.0f} GiB" if memory else ""
    return f"{name} ({ids}) at {identity.address}{size}" if name else f"{ids} at {identity.address}"
