"""The kernel's log watched for the whole run: its lines become events, and a reading at the end.

Lines about the card, its port and its driver count; another device's are named and judge nothing.
A log that this account may not read is not measured, and not required either: a run without root
may still pass, and its sheet says that nobody heard the kernel. A log that was read and then
lost lines or broke off is required: something happened to it while the card was worked.
"""

from __future__ import annotations

from collections.abc import Sequence

from burnin.card.file_errors import why_unread
from burnin.card.kernel_log.log import KernelLog
from burnin.card.kernel_log.meanings import KernelReason
from burnin.card.kernel_log.patterns import DETAILS, Meant, meant
from burnin.card.kernel_log.records import ERROR_LEVEL, KernelRecord
from burnin.card.kernel_log.whose import About, Place, Whose, about
from burnin.core.clock import Clock
from burnin.core.events import Event, KernelLogged, Publish, StageStarted
from burnin.core.meaning import Reason
from burnin.core.reading import Limit, NotMeasured, Reading, judge, known, not_measured
from burnin.run.bench import OpenBench

READING = "whole_run_kernel_log"
"""Lines of the kernel's log that count against the card, its port or its driver."""
LOOK_EVERY_S = 1.0
_MOST_OF_A_KIND = 20
"""Lines of one meaning that are put on record one by one; the rest are counted."""
_OURS = (Whose.CARD, Whose.PORT, Whose.DRIVER)


def place_of(bench: OpenBench) -> Place:
    """Where the card of a run sits, and whether its driver has no other card to speak of."""
    if bench.identity is None:
        return Place("")
    position, driver = bench.card.position(), known(bench.identity.driver) or ""
    others = [known(card.identity().driver) for card in bench.other_cards]
    return Place(
        card=bench.identity.address,
        port="" if isinstance(position, NotMeasured) else position.port.address,
        driver=driver,
        only_of_driver=driver not in others,
    )


class KernelWatch:
    """Stands before a run's `publish`: hands every event on, and looks into the log between."""

    def __init__(
        self, log: KernelLog | NotMeasured, place: Place, clock: Clock, publish: Publish
    ) -> None:
        self._log, self._place, self._clock, self._publish = log, place, clock, publish
        self._stage = ""
        self._next_s = clock.monotonic_s() + LOOK_EVERY_S
        self._told: dict[tuple[str, Whose], int] = {}
        self._counting: list[Reason] = []
        self._times = 0
        self._broke_off = False

    def publish(self, event: Event) -> None:
        """Hand an event on; at most once a second see what the kernel has said."""
        if isinstance(event, StageStarted):
            self.look()
            self._stage = event.stage
        self._publish(event)
        if self._clock.monotonic_s() >= self._next_s:
            self.look()

    def look(self) -> None:
        """Publish what the kernel has said since the last look."""
        self._next_s = self._clock.monotonic_s() + LOOK_EVERY_S
        if isinstance(self._log, NotMeasured):
            return
        try:
            records = self._log.read()
        except OSError as error:
            self._log.close()
            why = why_unread(error, "/dev/kmsg").reason
            self._log, self._broke_off = NotMeasured(KernelReason.LOG_BROKE_OFF(reason=why)), True
            return
        for record in records:
            self._hear(record)

    def readings(self) -> Sequence[Reading]:
        """What the log says of the whole run, to be taken once at its end."""
        self.look()
        if self._times:
            return (self._judged(),)
        if isinstance(self._log, NotMeasured):
            return (not_measured(READING, "", self._log.reason, required=self._broke_off),)
        if self._log.lost:
            lost = KernelReason.LINES_LOST(lines_count=self._log.lost)
            return (not_measured(READING, "", lost, source=self._log.source()),)
        return (self._judged(),)

    def close(self) -> None:
        """Read the log no longer."""
        if not isinstance(self._log, NotMeasured):
            self._log.close()

    def _judged(self) -> Reading:
        source = None if isinstance(self._log, NotMeasured) else self._log.source()
        why = None
        if self._counting:
            why = KernelReason.LINES(times_count=self._times, reasons=tuple(self._counting))
        return judge(READING, float(self._times), "", Limit(upper=0.0), source=source, why_fail=why)

    def _hear(self, record: KernelRecord) -> None:
        said_of = about(record, self._place)
        found = _meaning_of(record, said_of)
        if found is None:
            return
        counts = found.counts and said_of.whose in _OURS
        self._times += counts
        kind = (found.what.code, said_of.whose)
        times = self._told[kind] = self._told.get(kind, 0) + 1
        if times == 1 and counts:
            self._counting.append(found.what)
        if times <= _MOST_OF_A_KIND:
            self._publish(
                KernelLogged(self._stage, said_of.whose, counts, found.what, record.sequence)
            )


def _meaning_of(record: KernelRecord, said_of: About) -> Meant | None:
    """What a record means for this run; an error of the card's that nobody knows is named too."""
    if said_of.whose is Whose.NOBODY:
        return None
    found = meant(record.text, said_of.address)
    unknown = found is None and DETAILS.search(record.text) is None
    if unknown and said_of.whose in _OURS and record.level <= ERROR_LEVEL:
        return Meant(KernelReason.ERROR_SAID(address=said_of.address, line=record.text), False)
    return found
