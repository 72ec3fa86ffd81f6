"""The switch's rules on a clock of its own; the process tests show that they reach the card.

The bounds stand here as numbers: they are what README promises, and not whatever the code says.
"""

from __future__ import annotations

import threading
import time

import pytest

from burnin.engine.process.dead_man_switch import DeadManSwitch, Stuck

NO_SLICE_AFTER_S = 0.25
WORKER_ENDS_AFTER_S = 2.0
CARD_HANGS_AFTER_S = 1.5
FIRST_SLICES_MAY_LAST_S = 30.0
WORK_STANDS_STILL_AFTER_S = 30.0


class Hands:
    now_s = 100.0

    def __call__(self) -> float:
        return self.now_s


def test_a_job_with_beats_goes_on() -> None:
    clock = Hands()
    switch = DeadManSwitch(clock)
    switch.job_begins()
    for _ in range(100):
        clock.now_s += NO_SLICE_AFTER_S * 0.9
        assert not switch.must_end()
        switch.beat()
        assert switch.may_go_on(0.0)


def test_without_a_job_nobody_needs_to_beat() -> None:
    clock = Hands()
    switch = DeadManSwitch(clock)
    clock.now_s += 3600.0
    assert not switch.must_end()
    switch.job_begins()
    assert not switch.must_end()
    switch.job_ended()
    clock.now_s += 3600.0
    assert not switch.must_end()


def test_a_missing_heart_ends_the_worker_after_two_seconds() -> None:
    clock = Hands()
    switch = DeadManSwitch(clock)
    switch.job_begins()
    clock.now_s += WORKER_ENDS_AFTER_S - 0.01
    assert not switch.must_end()
    clock.now_s += 0.02
    assert switch.must_end()


def asks_whether_to_go_on(switch: DeadManSwitch) -> tuple[threading.Thread, list[bool]]:
    """In a thread of its own, for one that may wait."""
    answers: list[bool] = []
    asking = threading.Thread(target=lambda: answers.append(switch.may_go_on(0.0)), daemon=True)
    asking.start()
    return asking, answers


@pytest.mark.parametrize(("age_s", "goes_on"), [(0.24, True), (0.26, False)])
def test_no_slice_begins_on_a_beat_older_than_a_quarter_of_a_second(
    age_s: float, goes_on: bool
) -> None:
    clock = Hands()
    switch = DeadManSwitch(clock)
    switch.job_begins()
    clock.now_s += age_s
    asking, answers = asks_whether_to_go_on(switch)
    asking.join(5.0 if goes_on else 0.05)
    assert answers == ([True] if goes_on else [])
    switch.stop()
    asking.join(5.0)


def test_a_beat_is_as_old_as_when_it_was_sent() -> None:
    """Beats that lay in the pipe while the worker stood still let no slice begin."""
    clock = Hands()
    switch = DeadManSwitch(clock)
    switch.job_begins()
    begun_s = clock.now_s
    clock.now_s += 1.0
    switch.beat(begun_s + 0.5)
    asking, answers = asks_whether_to_go_on(switch)
    asking.join(0.05)
    assert answers == []
    clock.now_s += 1.49
    assert not switch.must_end()
    clock.now_s += 0.02
    assert switch.must_end()
    switch.stop()
    asking.join(5.0)


def test_an_older_beat_and_one_from_the_future_count_for_no_more_than_they_are() -> None:
    clock = Hands()
    switch = DeadManSwitch(clock)
    switch.job_begins()
    begun_s = clock.now_s
    switch.beat(begun_s - 100.0)
    assert switch.beat_s == begun_s
    switch.beat(begun_s + 100.0)
    assert switch.beat_s == begun_s


def test_a_late_beat_holds_the_next_slice_until_it_comes() -> None:
    clock = Hands()
    switch = DeadManSwitch(clock)
    switch.job_begins()
    clock.now_s += NO_SLICE_AFTER_S * 1.01
    answers: list[bool] = []
    waiting = threading.Thread(target=lambda: answers.append(switch.may_go_on(0.0)))
    waiting.start()
    waiting.join(0.05)
    assert answers == []
    switch.beat()
    waiting.join(5.0)
    assert answers == [True]


def test_a_stop_is_heard_while_resting_and_while_waiting_for_a_beat() -> None:
    clock = Hands()
    for late_s, rest_s in ((0.0, 1000.0), (NO_SLICE_AFTER_S * 2, 0.0)):
        switch = DeadManSwitch(clock)
        switch.job_begins()
        clock.now_s += late_s
        answers: list[bool] = []
        waiting = threading.Thread(
            target=lambda s=switch, r=rest_s, a=answers: a.append(s.may_go_on(r))
        )
        waiting.start()
        switch.stop()
        waiting.join(5.0)
        assert answers == [False]


def test_a_new_job_forgets_the_stop_of_the_last() -> None:
    switch = DeadManSwitch(Hands())
    switch.job_begins()
    switch.stop()
    assert not switch.may_go_on(0.0)
    switch.job_begins()
    assert switch.may_go_on(0.0)


def looked_at_for(switch: DeadManSwitch, clock: Hands, seconds: float) -> Stuck | None:
    """What is found to stand still, looked at every 0.05 s."""
    found = None
    for _ in range(round(seconds / 0.05)):
        clock.now_s += 0.05
        found = switch.stuck()
    return found


def begun(switch: DeadManSwitch, slices: int) -> None:
    """A job with so many slices, for the last of which the card is waited for."""
    switch.job_begins()
    for _ in range(slices):
        switch.slice_begins()
        switch.waits(True)


def test_a_slice_that_does_not_end_is_noticed() -> None:
    clock = Hands()
    switch = DeadManSwitch(clock)
    begun(switch, 20)
    assert looked_at_for(switch, clock, CARD_HANGS_AFTER_S - 0.05) is None
    assert looked_at_for(switch, clock, 0.15) is Stuck.CARD
    switch.waits(False)
    assert switch.stuck() is None


def test_a_jobs_first_slices_may_take_the_time_that_drivers_need_to_load() -> None:
    clock = Hands()
    switch = DeadManSwitch(clock)
    begun(switch, 1)
    assert looked_at_for(switch, clock, FIRST_SLICES_MAY_LAST_S - 0.1) is None
    assert looked_at_for(switch, clock, 0.3) is Stuck.CARD


def test_a_software_adapter_may_take_that_time_for_any_slice() -> None:
    clock = Hands()
    switch = DeadManSwitch(clock)
    switch.software = True
    begun(switch, 20)
    assert looked_at_for(switch, clock, FIRST_SLICES_MAY_LAST_S - 0.1) is None
    assert looked_at_for(switch, clock, 0.3) is Stuck.CARD


def test_what_is_no_wait_for_the_card_may_take_longer_and_is_not_laid_to_it() -> None:
    """Words put on a slow disk; memory that a driver hands out, or never does."""
    for slices in (0, 20):
        clock = Hands()
        switch = DeadManSwitch(clock)
        begun(switch, slices)
        switch.waits(False)
        assert looked_at_for(switch, clock, WORK_STANDS_STILL_AFTER_S - 0.1) is None
        assert looked_at_for(switch, clock, 0.3) is Stuck.WORK
        switch.job_ended()
        assert looked_at_for(switch, clock, 2 * WORK_STANDS_STILL_AFTER_S) is None


def test_a_pause_is_no_standstill() -> None:
    clock = Hands()
    switch = DeadManSwitch(clock)
    begun(switch, 20)
    clock.now_s += NO_SLICE_AFTER_S * 2
    asking, answers = asks_whether_to_go_on(switch)
    asking.join(0.05)
    assert answers == []
    assert looked_at_for(switch, clock, 2 * WORK_STANDS_STILL_AFTER_S) is None
    switch.stop()
    asking.join(5.0)


def test_a_worker_that_stood_still_lays_no_slice_to_the_card() -> None:
    """Stopped and continued, or starved: nobody looked, so nobody knows how long a slice took."""
    clock = Hands()
    switch = DeadManSwitch(clock)
    begun(switch, 20)
    clock.now_s += 3600.0
    assert switch.stuck() is None


def test_the_real_clock_is_the_one_that_both_processes_share() -> None:
    switch = DeadManSwitch()
    switch.job_begins()
    sent_s = time.monotonic()
    switch.beat(sent_s)
    assert switch.beat_s == sent_s
