"""The kernel's log of a whole run: what counts, what is only named, and what cannot be heard."""

from __future__ import annotations

import pytest

from burnin.card.kernel_log.meanings import KernelReason, KernelSource
from burnin.card.kernel_log.records import KernelRecord
from burnin.card.kernel_log.whose import Place
from burnin.core.events import Event, KernelLogged, StageStarted
from burnin.core.meaning import Source
from burnin.core.reading import NotMeasured
from burnin.report.languages.catalogue import catalogue
from burnin.run.kernel_watch import LOOK_EVERY_S, KernelWatch

HERE = Place("0000:01:00.0", "0000:00:01.0", "corvane", only_of_driver=True)
RESET = "corvane 0000:01:00.0: GPU reset begin!"


class Log:
    """A kernel's log that a test writes."""

    def __init__(self) -> None:
        self.waiting: list[KernelRecord] = []
        self.lost, self.reads, self.closed = 0, 0, False
        self.fails: OSError | None = None

    def say(self, text: str, level: int = 3) -> None:
        self.waiting.append(KernelRecord(text, level, len(self.waiting)))

    def read(self) -> tuple[KernelRecord, ...]:
        self.reads += 1
        if self.fails is not None:
            raise self.fails
        found, self.waiting = tuple(self.waiting), []
        return found

    def source(self) -> Source:
        return KernelSource.LOG_FILE()

    def close(self) -> None:
        self.closed = True


class Clock:
    def __init__(self) -> None:
        self.now_s = 0.0

    def monotonic_s(self) -> float:
        return self.now_s

    def utc(self) -> None:
        raise AssertionError

    def sleep_s(self, seconds: float) -> None:
        self.now_s += seconds


class Heard:
    """A watch over a log, with all that it published."""

    def __init__(self, log: Log | NotMeasured) -> None:
        self.events: list[Event] = []
        self.clock = Clock()
        self.watch = KernelWatch(log, HERE, self.clock, self.events.append)  # type: ignore[arg-type]

    @property
    def lines(self) -> list[KernelLogged]:
        return [e for e in self.events if isinstance(e, KernelLogged)]


STAGE = StageStarted("5-compute", "compute", "", 0.0)


def test_every_event_is_handed_on_and_the_log_is_read_once_a_second() -> None:
    log = Log()
    heard = Heard(log)
    for _ in range(50):
        heard.watch.publish(STAGE)
        heard.watch._stage = ""
        heard.events.remove(STAGE)
    before = log.reads
    event = KernelLogged("", "card", False, KernelReason.NO_JOURNAL())
    for _ in range(100):
        heard.clock.sleep_s(LOOK_EVERY_S / 10)
        heard.watch.publish(event)
    assert heard.events == [event] * 100
    assert 9 <= log.reads - before <= 11


def test_a_line_belongs_to_the_stage_in_which_it_was_said() -> None:
    log = Log()
    heard = Heard(log)
    log.say(RESET)
    heard.watch.publish(STAGE)
    log.say(RESET)
    heard.watch.look()
    assert [line.stage for line in heard.lines] == ["", "5-compute"]
    assert [type(e).__name__ for e in heard.events] == [
        "KernelLogged", "StageStarted", "KernelLogged",
    ]  # fmt: skip


def test_only_the_card_s_own_lines_count() -> None:
    log = Log()
    heard = Heard(log)
    log.say("corvane 0000:02:00.0: GPU reset begin!")
    log.say("pcieport 0000:00:01.0: AER: Correctable error message received from 0000:01:00.0")
    log.say("corvane 0000:01:00.0: something that nobody knows")
    log.say("corvane 0000:01:00.0: a remark", level=6)
    log.say("usb 1-4: reset high-speed USB device number 3")
    (reading,) = heard.watch.readings()
    assert (reading.value, reading.verdict) == (0.0, "pass")
    assert [(e.whose, e.counts, e.reason.code) for e in heard.lines] == [
        ("other device", False, "kernel_driver_reset"),
        ("card", False, "kernel_bus_error_corrected"),
        ("card", False, "kernel_error_said"),
    ]


def test_what_counts_fails_the_reading_and_says_each_kind_once() -> None:
    log = Log()
    heard = Heard(log)
    for _ in range(3):
        log.say(RESET)
    log.say("pcieport 0000:00:01.0: pciehp: Slot(1): Link Down", level=6)
    (reading,) = heard.watch.readings()
    assert (reading.value, reading.verdict) == (4.0, "fail")
    assert reading.reason is not None
    codes = [part.code for part in reading.reason.parts()]
    assert codes == ["kernel_lines", "kernel_driver_reset", "kernel_link_down"]
    for language in ("en", "de"):
        assert RESET in catalogue(language).say(reading.reason)


def test_a_flood_of_one_kind_is_counted_and_not_written_out() -> None:
    log = Log()
    heard = Heard(log)
    for _ in range(500):
        log.say(RESET)
    (reading,) = heard.watch.readings()
    assert reading.value == 500.0
    assert len(heard.lines) == 20


def test_a_log_that_this_account_may_not_read_is_named_and_not_required() -> None:
    why = KernelReason.JOURNAL_SILENT()
    (reading,) = Heard(NotMeasured(why)).watch.readings()
    assert (reading.verdict, reading.required, reading.reason) == ("not measured", False, why)


def test_lines_that_were_lost_leave_it_open() -> None:
    log = Log()
    log.lost = 7
    (reading,) = Heard(log).watch.readings()
    assert (reading.verdict, reading.required) == ("not measured", True)
    assert reading.reason == KernelReason.LINES_LOST(lines_count=7)


def test_what_was_heard_before_the_log_failed_still_counts() -> None:
    log = Log()
    heard = Heard(log)
    log.say(RESET)
    heard.watch.look()
    log.fails = OSError(5, "io")
    (reading,) = heard.watch.readings()
    assert (reading.value, reading.verdict, log.closed) == (1.0, "fail", True)


@pytest.mark.parametrize("number", [1, 19])
def test_a_log_that_fails_on_the_way_leaves_it_open(number: int) -> None:
    log = Log()
    heard = Heard(log)
    log.fails = OSError(number, "gone")
    (reading,) = heard.watch.readings()
    assert reading.verdict == "not measured"
    assert reading.required
