"""The log of a ticket: nothing is lost, and what was changed is found."""

from __future__ import annotations

import multiprocessing
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from burnin.core.errors import RecordError
from burnin.record.event_log import LogEvent, append, read_log
from tests.refusals import refused

TEXTS = st.text(max_size=40)


def event(text: str, by: str = "one") -> LogEvent:
    return LogEvent("2026-03-02T09:15:00.000Z", "noted", by, {"text": text})


def write(path: Path, *texts: str) -> None:
    for text in texts:
        append(path, lambda _, text=text: [event(text)])  # type: ignore[misc]


def texts_of(path: Path) -> list[object]:
    return [e.fields["text"] for e in read_log(path).events]


def _writer(path: Path, by: str, texts: list[str]) -> None:
    for text in texts:
        append(path, lambda _, text=text: [event(text, by)])  # type: ignore[misc]


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    first=st.lists(TEXTS, min_size=1, max_size=12), second=st.lists(TEXTS, min_size=1, max_size=12)
)
def test_two_processes_that_write_at_once_lose_nothing(
    first: list[str], second: list[str], tmp_path_factory: pytest.TempPathFactory
) -> None:
    path = tmp_path_factory.mktemp("log") / "events.jsonl"
    context = multiprocessing.get_context("fork")
    writers = [
        context.Process(target=_writer, args=(path, by, texts))
        for by, texts in (("one", first), ("two", second))
    ]
    for process in writers:
        process.start()
    for process in writers:
        process.join()
        assert process.exitcode == 0
    log = read_log(path)
    assert log.flaws == ()
    for by, texts in (("one", first), ("two", second)):
        kept = [e.fields["text"] for e in log.events if e.by == by]
        assert kept == [t.encode("utf-8", "replace").decode() for t in texts]


@settings(max_examples=60, deadline=None)
@given(texts=st.lists(TEXTS, min_size=1, max_size=6), cut=st.integers(min_value=1, max_value=400))
def test_a_torn_end_costs_at_most_what_was_torn_and_the_log_goes_on(
    texts: list[str], cut: int, tmp_path_factory: pytest.TempPathFactory
) -> None:
    path = tmp_path_factory.mktemp("log") / "events.jsonl"
    write(path, *texts)
    whole = path.read_bytes()
    last = whole[:-1].rfind(b"\n") + 1
    kept = max(last, len(whole) - cut)
    path.write_bytes(whole[:kept])
    torn = last < kept < len(whole) - 1
    survived = texts if kept == len(whole) - 1 else texts[:-1]
    assert texts_of(path) == survived
    assert bool(read_log(path).flaws) == torn
    write(path, "after")
    assert texts_of(path) == [*survived, "after"]
    assert bool(read_log(path).flaws) == torn


@settings(max_examples=80, deadline=None)
@given(data=st.data())
def test_any_changed_byte_is_refused_or_named(
    data: st.DataObject, tmp_path_factory: pytest.TempPathFactory
) -> None:
    path = tmp_path_factory.mktemp("log") / "events.jsonl"
    write(path, "one", "two", "three")
    whole = bytearray(path.read_bytes())
    place = data.draw(st.integers(0, len(whole) - 1))
    new = data.draw(st.integers(0, 255).filter(lambda b: b != whole[place]))
    whole[place] = new
    path.write_bytes(bytes(whole))
    try:
        told = bool(read_log(path).flaws)
    except RecordError as error:
        told = bool(str(error))
    assert told


def test_a_line_taken_out_is_refused_with_its_place(tmp_path: Path) -> None:
    path = tmp_path / "events.jsonl"
    write(path, "one", "two", "three")
    first, _, third = path.read_text().splitlines(keepends=True)
    path.write_text(first + third)
    with refused(RecordError, match="line 2: a line before this one was taken out"):
        read_log(path)


def test_nothing_is_written_where_the_decision_fails(tmp_path: Path) -> None:
    path = tmp_path / "events.jsonl"
    write(path, "one")
    before = path.read_bytes()

    def refuse(_: object) -> list[LogEvent]:
        raise RecordError("no")

    with pytest.raises(RecordError):
        append(path, refuse)
    assert path.read_bytes() == before
