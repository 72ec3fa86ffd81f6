"""A meaning is a code with its data, goes through JSON unharmed, and is unique in the tool."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.core.meaning import Code, Meaning, NoteCode, Reason, ReasonCode, Value, distinct


class LampReason(ReasonCode):
    TOO_DIM = "lamp_too_dim", "light_lx", "needed_lx"
    BROKEN = "lamp_broken"
    BECAUSE = "lamp_because", "reason"


class LampNote(NoteCode):
    WARM = "lamp_warm", "temp_c"


def test_a_member_called_with_its_data_is_a_meaning_of_its_kind() -> None:
    why = LampReason.TOO_DIM(light_lx=20.0, needed_lx=50.0)
    assert isinstance(why, Reason)
    assert why.code == "lamp_too_dim"
    assert why["needed_lx"] == 50.0
    assert why.means(LampReason.BROKEN, LampReason.TOO_DIM)
    assert not why.means(LampReason.BROKEN)


@pytest.mark.parametrize("given_data", [{}, {"light_lx": 1.0}, {"light_lx": 1.0, "x": 2}])
def test_missing_and_surplus_data_are_refused(given_data: dict[str, Value]) -> None:
    with pytest.raises(TypeError, match="lamp_too_dim takes light_lx, needed_lx"):
        LampReason.TOO_DIM(**given_data)


values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3).map(tuple)
    | st.dictionaries(
        st.text(min_size=1, max_size=5).filter(lambda n: n != "code"), inner, max_size=3
    ).map(lambda data: Meaning("inner", tuple(data.items()))),
    max_leaves=8,
)


@given(st.dictionaries(st.text(min_size=1, max_size=6).filter(lambda n: n != "code"), values))
def test_what_json_gives_back_equals_what_was_put_in(data: dict[str, Value]) -> None:
    before = Reason("some_code", tuple(data.items()))
    after = Reason.from_plain(json.loads(json.dumps(before.as_plain())))
    assert after == before
    assert hash(after) == hash(before)


@pytest.mark.parametrize("content", [{}, {"code": ""}, {"code": 3}, {"code": "a", "x": b"raw"}])
def test_what_is_no_meaning_is_refused(content: dict[str, object]) -> None:
    with pytest.raises(ValueError, match="not"):
        Meaning.from_plain(content)


def test_meanings_inside_are_found_outermost_first() -> None:
    inner = LampReason.BROKEN()
    outer = LampReason.BECAUSE(reason=LampReason.BECAUSE(reason=inner))
    assert [part.code for part in outer.parts()] == ["lamp_because", "lamp_because", "lamp_broken"]


def test_what_a_record_lacks_is_none() -> None:
    """Of an older version, or edited and summed anew: whoever reads it must do without."""
    assert Meaning("lamp_too_dim", (("light_lx", 1.0),))["needed_lx"] is None


def test_each_meaning_is_told_once() -> None:
    broken, dim = LampReason.BROKEN(), LampReason.TOO_DIM(light_lx=1.0, needed_lx=2.0)
    assert distinct([broken, dim, LampReason.BROKEN()]) == (broken, dim)


def test_a_code_belongs_to_one_enum() -> None:
    with pytest.raises(ValueError, match="lamp_unknown"):
        LampReason("lamp_unknown")
    assert issubclass(LampNote, Code)
    assert LampNote.WARM(temp_c=3.0).code != LampReason.BROKEN().code
