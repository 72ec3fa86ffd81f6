from __future__ import annotations

import json
from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.core.errors import EngineError
from burnin.engine.engine import EngineDescription
from burnin.engine.job import Job, WorkEvent
from burnin.engine.process import wire

text = st.text(max_size=20)
st.register_type_strategy(float, st.floats(allow_nan=False, allow_infinity=False))
st.register_type_strategy(str, text)

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
        with pytest.raises(EngineError, match="no message"):
            wire.message(raw)


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
    with pytest.raises(EngineError, match=r"unknown kind|torn"):
        wire.unpacked(json.loads(json.dumps(torn)))
