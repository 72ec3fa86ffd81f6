"""`explain` on whole records of the simulated machine, and on folders that are none."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from burnin.core.errors import BadInput, RecordError
from burnin.diagnosis.evidence import Evidence, read_evidence
from burnin.diagnosis.explain import explain, explain_evidence
from tests.diagnosis.looks import lane_three, look
from tests.evaluation.observing import observe
from tests.run.driving import run_simulated
from tests.sim.machines import with_causes


@pytest.fixture(scope="module")
def records(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    results = tmp_path_factory.mktemp("results")
    short = frozenset({"memory", "compute"})
    return {
        name: run_simulated(name, "desktop_air", results / name, left_out=short).folder
        for name in ("healthy", "narrow_link", "slow_link_under_load", "falls_off_bus")
    }


@pytest.mark.parametrize(
    ("name", "conclusion", "words"),
    [
        ("healthy", "nothing to explain", "Nothing to explain"),
        ("narrow_link", "explained", "One of lanes 8 to 15 carries nothing"),
        ("slow_link_under_load", "explained", "Lane 3, what the card receives"),
        ("falls_off_bus", "explained", "leaves the bus"),
    ],
)
def test_a_record_is_explained(
    name: str, conclusion: str, words: str, records: dict[str, Path]
) -> None:
    told = json.loads(explain(records[name], [], True))
    assert told["conclusion"] == conclusion
    assert words in told["headline"]
    text = explain(records[name], [], False)
    assert words in text
    assert text.startswith("SIMULATED")
    assert all(len(line) <= 96 for line in text.splitlines())


def test_the_contacts_of_a_named_lane_are_named(records: dict[str, Path]) -> None:
    told = json.loads(explain(records["slow_link_under_load"], [], True))
    assert told["ranked"][0]["groups"][0]["names"] == ["B27", "B28"]
    assert told["ranked"][0]["speaks_for"]
    assert told["steps"]


def test_the_ticket_leads(records: dict[str, Path]) -> None:
    told = json.loads(explain(records["narrow_link"], ["b54", "A20"], True))
    assert told["damaged"] == ["B54", "A20"]
    assert told["ranked"][0]["groups"][0]["names"] == ["B54"]


def test_a_record_tells_what_the_bench_would_tell_directly(records: dict[str, Path]) -> None:
    cause = {"kind": "contact", "contact": "B54", "state": "open"}
    direct = observe(with_causes("healthy", cause), 1)
    for recorded, seen in zip(
        read_evidence(records["narrow_link"]).looks, direct.looks, strict=True
    ):
        assert (recorded.width, recorded.generation, recorded.errors, recorded.lanes) == (
            seen.width, seen.generation, seen.errors, seen.lanes,
        )  # fmt: skip
        assert (recorded.warm, recorded.managed) == (seen.warm, seen.managed)


def test_an_unknown_contact_is_refused(records: dict[str, Path]) -> None:
    with pytest.raises(BadInput, match="'B83': A1 to A82 and B1 to B82"):
        explain(records["healthy"], ["B83"], False)


def test_a_folder_that_is_no_record_is_refused(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match=r"run\.json"):
        explain(tmp_path, [], False)


def test_without_a_link_stage_it_cannot_tell(tmp_path: Path) -> None:
    (tmp_path / "run.json").write_text('{"format": 1, "card": {}, "stages": []}', "utf-8")
    assert explain(tmp_path, [], False).startswith("Cannot tell: the record holds no link stage")


def test_a_card_that_never_came_up_is_explained(tmp_path: Path) -> None:
    facts = '{"format": 1, "card": null, "card_absent": true, "stages": []}'
    (tmp_path / "run.json").write_text(facts, "utf-8")
    told = json.loads(explain(tmp_path, ["A11"], True))
    assert told["headline"].startswith("The card does not come up")
    assert told["ranked"][0]["groups"][0]["names"] == ["A11"]


def test_what_nothing_predicts_it_does_not_explain() -> None:
    odd = look(
        width=4, generation=1, top_generation=4, errors=(0, 900),
        lanes=(frozenset({1, 5, 11}), frozenset({14})),
    )  # fmt: skip
    explained = explain_evidence(Evidence((odd, look(warm=True, width=2))))
    assert explained.conclusion == "cannot tell"


def test_where_no_explanation_is_probable_it_says_so() -> None:
    # A few errors at both ends and no lane register: either side, a riser, or mere chance.
    vague = look(errors=(3, 2), lanes=(None, None), managed=None)
    explained = explain_evidence(Evidence((vague,)))
    assert explained.conclusion == "cannot tell"
    assert explained.ranked[0].probability < 0.5
    assert len(explained.ranked) >= 3


def test_a_class_of_several_kinds_names_them() -> None:
    unread = {"errors": (None, None), "lanes": (None, None), "managed": None}
    slow = look(generation=3, top_generation=3, **unread)
    claim = explain_evidence(Evidence((slow,))).ranked[0].claim
    assert "the host's set-up holds the link at 8 GT/s" in claim
    assert "One of lanes 0 to 15, either way, holds no more than 8 GT/s" in claim


def test_evidence_for_and_against_is_told() -> None:
    explained = explain_evidence(Evidence((lane_three(errors=(2, 1)),)))
    ranked = explained.ranked[0]
    assert any("lane 3" in text for text in ranked.speaks_for)
    assert all("expected" in text for text in (*ranked.speaks_for, *ranked.against))
