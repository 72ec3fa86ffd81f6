from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from burnin.core.errors import RecordError
from burnin.core.meaning import Note, Reason
from burnin.core.verdict import VerdictReason
from burnin.diagnosis.evidence import Evidence, generation_of
from burnin.diagnosis.explain import explain_evidence
from burnin.diagnosis.meanings import Seen
from burnin.diagnosis.record_evidence import LEFT_THE_BUS, left_the_bus, read_evidence
from burnin.engine.meanings import EngineReason
from burnin.guard.meanings import GuardReason
from burnin.report.explanation import explanation_text
from burnin.run.reasons import RunReason
from burnin.stages.link.meanings import LinkNote
from tests.diagnosis.records import link_readings, reason_json, run_json, tables
from tests.refusals import refused

LINK = {"stage": "3-link", "kind": "link"}


def record(folder: Path, *notes: Any, width: float | None = 8.0) -> Path:
    """A record with one link stage, its notes as given."""
    run_json(folder, [LINK])
    return tables(folder, link_readings(width), [("3-link", note) for note in notes])


def end(**changes: Any) -> Note:
    unread = dict.fromkeys(LinkNote.END.fields)
    read = {
        "max_width_lanes": 16, "max_speed_gts": 16.0, "speeds_seen_gts": (16.0,),
        "lane_errors_after": (),
    }  # fmt: skip
    return LinkNote.END(**(unread | read | changes))


def both(card: Note | None, port: Note | None) -> dict[str, object]:
    return LinkNote.BOTH_ENDS(card=card, port=port).as_plain()


def counters(**counts: int) -> dict[str, object]:
    rows = [
        LinkNote.COUNTER(counter=name.replace("_", " "), increase=n) for name, n in counts.items()
    ]
    return LinkNote.COUNTERS(errors=tuple(rows)).as_plain()


def test_both_ends_are_read(tmp_path: Path) -> None:
    ends = both(
        end(lane_errors_after=(3,), speeds_seen_gts=(16.0, 8.0)),
        end(bandwidth_managed_after=True, target_speed_gts=8.0),
    )
    counted = counters(card_bad_TLP=5, card_bad_DLLP=1, port_receiver_error=2)
    (look,) = read_evidence(record(tmp_path, ends, counted)).looks
    assert (look.width, look.generation, look.top_generation) == (8, 4, 4)
    assert look.errors == (6, 2)
    assert look.lanes == (frozenset({3}), frozenset())
    assert (look.managed, look.target_generation) == (True, 3)


def test_the_last_of_several_notes_counts(tmp_path: Path) -> None:
    first, last = counters(card_bad_TLP=5), counters(card_bad_TLP=7)
    (look,) = read_evidence(record(tmp_path, both(end(), end()), first, last)).looks
    assert look.errors == (7, None)


def test_what_the_slot_offers_less_is_named(tmp_path: Path) -> None:
    (look,) = read_evidence(record(tmp_path, both(end(), end(max_width_lanes=8)))).looks
    assert look.most_width == 8
    assert look.offers == (Seen.LANES_OFFERED(card_lanes=16.0, slot_lanes=8.0),)


def test_what_is_not_there_is_not_guessed(tmp_path: Path) -> None:
    nothing = both(None, None), LinkNote.COUNTERS(errors=()).as_plain()
    (look,) = read_evidence(record(tmp_path, *nothing, width=None)).looks
    assert (look.width, look.errors, look.lanes) == (None, (None, None), (None, None))
    assert (look.managed, look.target_generation) == (None, None)


def test_a_number_of_any_size_is_no_traceback(tmp_path: Path) -> None:
    huge = 10**400
    torn = both(end(max_width_lanes=huge), end(target_speed_gts=-huge))
    (look,) = read_evidence(record(tmp_path, torn, counters(card_bad_TLP=huge))).looks
    assert look.errors == (None, None)
    assert look.target_generation is None


def test_a_bit_that_was_set_before_the_look_is_kept_apart(tmp_path: Path) -> None:
    stuck = end(lane_errors_before=(5,), lane_errors_after=(5, 7))
    (look,) = read_evidence(record(tmp_path, both(stuck, end()))).looks
    assert look.stuck[0] == frozenset({5})
    assert look.lanes[0] == frozenset({5, 7})


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3)
    | st.dictionaries(
        st.sampled_from(["code", "card", "port", "max_width_lanes", "lane_errors_after", "x"]),
        inner, max_size=3,
    ),
    max_leaves=8,
)  # fmt: skip
ends = st.fixed_dictionaries(
    {"code": st.just("link_end")},
    optional=dict.fromkeys(
        ("max_width_lanes", "max_speed_gts", "lane_errors_after", "speeds_seen_gts"), json_values
    ),
)


@settings(
    deadline=None, max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(card=json_values | ends, port=json_values | ends, errors=json_values)
def test_a_damaged_journal_never_ends_in_a_traceback(
    card: Any, port: Any, errors: Any, tmp_path: Path
) -> None:
    torn = {"code": LinkNote.BOTH_ENDS.value, "card": card, "port": port}
    counted = {"code": LinkNote.COUNTERS.value, "errors": errors}
    assert explained(read_evidence(record(tmp_path, torn, counted)))


@cache
def explained(evidence: Evidence) -> str:
    """The explanation's text; most damaged notes come to the same evidence."""
    return explanation_text(explain_evidence(evidence))


def test_run_json_of_the_wrong_shape_is_refused(tmp_path: Path) -> None:
    run_json(tmp_path, ["3-link"])
    with refused(RecordError, match="stages"):
        read_evidence(tmp_path)


@pytest.mark.parametrize(
    "reason",
    [
        GuardReason.CARD_GONE(),
        EngineReason.CARD_LOST(how=EngineReason.NO_ANSWER()),
        RunReason.CARD_GONE(),
        RunReason.CARD_GONE_AT_WORK(reason=EngineReason.CARD_LOST(how=EngineReason.NO_ANSWER())),
    ],
)
def test_a_card_that_left_is_known_by_the_code_however_deep(
    reason: Reason, tmp_path: Path
) -> None:
    ended = VerdictReason.LOAD_ENDED(reason=reason)
    heat = {"kind": "thermal_ramp", "verdict": "aborted"}
    stages = [
        {"stage": "2-thermal_ramp", "reasons": [reason_json(reason)], **heat},
        {"stage": "4-thermal_ramp", "reasons": [reason_json(RunReason.LEFT_OUT_BY_HAND())], **heat},
    ]
    run_json(tmp_path, stages, verdict="aborted", reason=reason_json(ended))
    evidence = read_evidence(tables(tmp_path))
    assert evidence.lost
    # What failed for that alone is no failure elsewhere; the other stage is.
    assert [reason["stage"] for reason in evidence.elsewhere] == ["4-thermal_ramp"]


def test_every_code_of_a_lost_card_is_tried() -> None:
    assert len(LEFT_THE_BUS) == 4
    assert not left_the_bus([RunReason.NOT_REACHED(reason=RunReason.LEFT_OUT_BY_HAND())])


def test_only_a_card_that_nobody_sees_is_absent(tmp_path: Path) -> None:
    for code, absent in (
        (RunReason.NOTHING_ENUMERATED(), True), (RunReason.SOFTWARE_WORKS_PROCESSOR(), False),
    ):  # fmt: skip
        run_json(tmp_path, card_absent=reason_json(code))
        assert read_evidence(tables(tmp_path)).absent is absent


@pytest.mark.parametrize(
    ("speed", "generation"),
    # PCI Express Base Specification, 1.2: rates of generations 1 to 6.
    [(2.5, 1), (5.0, 2), (8.0, 3), (16.0, 4), (32.0, 5), (64.0, 6), (7.0, None), (None, None)],
)
def test_generation_of_a_rate(speed: float | None, generation: int | None) -> None:
    assert generation_of(speed) == generation
