from __future__ import annotations

import json
from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.core.errors import EngineError
from burnin.core.meaning import Cause, Meaning, Note, Reason
from burnin.core.opening import EngineDescription
from burnin.engine.job import Failed, Job, Progress, Started, WorkEvent
from burnin.engine.meanings import EngineNote, EngineReason
from burnin.engine.process import wire
from burnin.engine.process.meanings import WorkerReason

text = st.text(max_size=20)
st.register_type_strategy(float, st.floats(allow_nan=False, allow_infinity=False))
st.register_type_strategy(str, text)
plain_values = st.one_of(
    text, st.booleans(), st.integers(), st.floats(allow_nan=False, allow_infinity=False), st.none()
)
inner = st.builds(lambda code, value: Meaning(code, (("value", value),)), text.filter(bool), text)
values = st.one_of(plain_values, inner, st.lists(st.one_of(plain_values, inner)).map(tuple))
data = st.dictionaries(text.filter(lambda name: name != "code"), values, max_size=3)
for kind in (Reason, Note, Cause):
    st.register_type_strategy(
        kind,
        st.builds(lambda k, c, d: k(c, tuple(d.items())), st.just(kind), text.filter(bool), data),
    )

KINDS = (*get_args(Job), *get_args(WorkEvent), EngineDescription)


@given(st.sampled_from(KINDS).flatmap(st.from_type))
def test_what_goes_in_comes_out(value: Any) -> None:
    sent = wire.line({"do": "begin", "job": value})
    assert sent.count(b"\n") == 1
    assert sent.endswith(b"\n")
    assert wire.unpacked(wire.message(sent)["job"]) == value


@given(st.binary(max_size=60))
def test_anything_else_is_refused_with_an_engine_error(raw: bytes) -> None:
    try:
        found = json.loads(raw)
    except ValueError:
        found = None
    if isinstance(found, dict):
        assert wire.message(raw) == found
    else:
        with pytest.raises(EngineError) as refused:
            wire.message(raw)
        assert refused.value.reason.means(WorkerReason.NO_MESSAGE)


@pytest.mark.parametrize(
    "torn",
    [
        {"kind": "Nothing"},
        {},
        {"kind": "ArithmeticLoad", "share": 1, "colour": 2},
        {"kind": "MemoryTest"},
        {"kind": "MemoryTest", "share": "much", "patterns": []},
    ],
)
def test_an_unknown_or_torn_job_is_refused(torn: dict[str, Any]) -> None:
    with pytest.raises(EngineError) as refused:
        wire.unpacked(json.loads(json.dumps(torn)))
    assert refused.value.reason.means(WorkerReason.UNKNOWN_KIND, WorkerReason.TORN)


def test_a_meaning_travels_as_plain_json_and_comes_back_typed() -> None:
    how = EngineReason.DRIVER_SAYS(words="Parent device is lost")
    failed = Failed(EngineReason.CARD_LOST(how=how), True)
    sent = json.loads(wire.line({"is": "event", "event": failed}))
    assert sent["event"] == {
        "kind": "Failed",
        "reason": {
            "code": "engine_card_lost",
            "how": {"code": "engine_driver_says", "words": "Parent device is lost"},
        },
        "device_lost": True,
    }
    back = wire.unpacked(sent["event"])
    assert back == failed
    assert isinstance(back.reason, Reason)
    assert back.reason.means(EngineReason.CARD_LOST)
    told = wire.unpacked(json.loads(wire.line({"p": Progress(1.0, 2.0, "B", None)}))["p"])
    assert told.note is None
    note = wire.unpacked(json.loads(wire.line({"s": Started(EngineNote.ANY_VENDOR())}))["s"]).plan
    assert isinstance(note, Note)


@pytest.mark.parametrize("reason", [None, "lost", {}, {"code": ""}, {"code": 7}, ["code"]])
def test_what_is_no_meaning_is_refused_as_torn(reason: object) -> None:
    with pytest.raises(EngineError) as refused:
        wire.unpacked({"kind": "Failed", "reason": reason})
    assert refused.value.reason.means(WorkerReason.TORN)
