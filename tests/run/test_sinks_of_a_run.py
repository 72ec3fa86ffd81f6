"""A run goes on whatever its sinks do; each that raised is named in its record."""

from __future__ import annotations

import errno
import threading
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest

from burnin.core.errors import DiskFull
from burnin.core.events import Event, RunFinished, SinkDetached
from burnin.core.meaning import Prompt
from burnin.core.reading import NotMeasured
from burnin.core.ticket_header import Ticket
from burnin.core.verdict import RunVerdict
from burnin.profile.loader import LoadedProfile, load_profile, parse_profile
from burnin.record.reader import read_record
from burnin.run.begin import plan_run
from burnin.run.bench import Options, open_bench_for
from burnin.run.session import carry_out_with_sinks, prompter_for
from tests.run.driving import run_simulated


def short_profile() -> LoadedProfile:
    """Two stages without load: a run of a few dozen events."""
    text = """format = 1
title = "Short"
[guards]
gpu_temp_limit_c = 90.0
[[stages]]
stage = "enumeration"
[[stages]]
stage = "display"
outputs = 4
monitors = "all"
watch_s = 0.3
"""
    return parse_profile("short", "short.toml", text, tomllib.loads(text))


class Raises:
    """Raises at its n-th event (from 0), and at no other."""

    def __init__(self, nth: int) -> None:
        self.name = "shaky"
        self._left = nth
        self.told = 0

    def __call__(self, event: Event) -> None:
        self.told += 1
        if self._left == 0:
            raise RuntimeError(f"the printer is on fire at {type(event).__name__}")
        self._left -= 1

    def close(self) -> None:
        pass


class Collects:
    """Keeps what it was told."""

    name = "collects"

    def __init__(self) -> None:
        self.events: list[Event] = []
        self.closed = False

    def __call__(self, event: Event) -> None:
        self.events.append(event)

    def close(self) -> None:
        self.closed = True


@pytest.mark.long
def test_a_sink_that_raises_at_any_event_changes_no_verdict_and_is_named(tmp_path: Path) -> None:
    profile = short_profile()
    good = run_simulated("healthy", profile, tmp_path / "good")
    count = len(good.events)
    assert count > 10
    for nth in range(count):
        shaky, other = Raises(nth), Collects()
        ran = run_simulated("healthy", profile, tmp_path / str(nth), sinks=(shaky, other))
        assert ran.outcome.verdict is good.outcome.verdict
        assert ran.outcome.reason == good.outcome.reason
        assert shaky.told == nth + 1
        detached = [e for e in other.events if isinstance(e, SinkDetached)]
        assert [e.sink for e in detached] == ["shaky"]
        assert other.closed
        [named] = read_record(ran.folder).events("SinkDetached")
        assert named.detail["sink"] == "shaky"
        assert "the printer is on fire" in str(named.detail)


def test_a_sink_sees_every_event_in_order(tmp_path: Path) -> None:
    collects = Collects()
    ran = run_simulated("healthy", short_profile(), tmp_path, sinks=(collects,))
    assert collects.events == ran.events
    assert isinstance(collects.events[-1], RunFinished)


def test_a_slow_sink_holds_nothing_up(tmp_path: Path) -> None:
    """It is told when it has time; the run has long ended by then."""
    may_go_on = threading.Event()

    class Slow(Collects):
        def __call__(self, event: Event) -> None:
            may_go_on.wait(timeout=30.0)
            super().__call__(event)

    ended: list[bool] = []

    def on_event(event: Event) -> None:
        if isinstance(event, RunFinished):
            ended.append(not may_go_on.is_set())
            may_go_on.set()

    slow = Slow()
    ran = run_simulated(
        "healthy", short_profile(), tmp_path, sinks=(slow,), on_event=on_event
    )
    assert ended == [True]
    assert ran.outcome.verdict is RunVerdict.PASS
    assert slow.events == ran.events


def test_a_prompt_waits_until_the_sinks_have_shown_what_was_before(tmp_path: Path) -> None:
    profile = short_profile()
    stages = [s.model_copy(update={"monitors": "ask"} if s.stage == "display" else {})
              for s in profile.profile.stages]  # fmt: skip
    asks = profile.profile.model_copy(update={"stages": tuple(stages)})
    options = Options(simulated="dead_output")
    opened = open_bench_for(options)
    plan = plan_run(opened, replace(profile, profile=asks), Ticket(), options, tmp_path)
    collects, seen = Collects(), [0]
    inner = prompter_for(opened)

    class Looks:
        def ask(self, prompt: Prompt, timeout_s: float) -> str | NotMeasured:
            seen.append(len(collects.events))
            return inner.ask(prompt, timeout_s)

    carry_out_with_sinks(replace(plan, prompter=Looks()), (collects,))
    prompts = [n for n, e in enumerate(collects.events) if type(e).__name__ == "Asked"]
    assert len(prompts) == len(seen) - 1
    assert prompts
    assert seen[1:] == prompts


@pytest.mark.parametrize("after", [0, 5, 40])
def test_a_record_that_cannot_be_written_ends_the_run(after: int, tmp_path: Path) -> None:
    """At once, with the load off, and without a verdict; nothing goes on unrecorded."""

    class FillsUp(Collects):
        name = "record"

        def __call__(self, event: Event) -> None:
            if len(self.events) >= after:
                raise OSError(errno.ENOSPC, "No space left on device")
            super().__call__(event)

    options = Options(simulated="healthy")
    opened = open_bench_for(options)
    loaded = load_profile("desktop_air")
    plan = plan_run(opened, loaded, Ticket(), options, tmp_path)
    record, sink = FillsUp(), Collects()
    with pytest.raises(DiskFull):
        carry_out_with_sinks(plan, (sink,), record)
    assert len(record.events) == after
    assert record.closed
    assert sink.closed
    assert not isinstance(opened.engine, NotMeasured)
    assert not opened.engine.poll()
