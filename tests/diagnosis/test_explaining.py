"""`explain` on whole records of the simulated machine, and on folders that are none."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from burnin.core.errors import BadInput, RecordError
from burnin.core.meaning import Meaning
from burnin.diagnosis.evidence import Evidence
from burnin.diagnosis.explain import explain_evidence, explain_record
from burnin.diagnosis.explanation import Answer
from burnin.diagnosis.meanings import Claim, Conclusion, DiagnosisTerm, Seen, Weight
from burnin.diagnosis.record_evidence import read_evidence
from burnin.report.explanation import claim_sentence, explanation_json, explanation_text
from burnin.report.languages.catalogue import catalogue
from burnin.run.reasons import RunReason
from tests.diagnosis.looks import lane_three, look
from tests.diagnosis.records import reason_json, run_json, tables
from tests.evaluation.observing import observe
from tests.refusals import refused
from tests.run.shared_runs import SharedRuns
from tests.sim.machines import with_causes


@pytest.fixture(scope="module")
def records(shared_runs: SharedRuns) -> dict[str, Path]:
    return {
        name: shared_runs.run(name, "desktop_air").folder
        for name in ("healthy", "narrow_link", "slow_link_under_load", "falls_off_bus")
    }


def in_json(record: Path, *damaged: str) -> Any:
    return json.loads(explanation_json(explain_record(record, damaged)))


@pytest.mark.parametrize(
    ("name", "conclusion", "words", "worte"),
    [
        ("healthy", "nothing to explain", "Nothing to explain", "Nichts zu erklären"),
        (
            "narrow_link", "explained", "One of lanes 0 to 15 carries nothing",
            "Eines der Leitungspaare 0 bis 15 überträgt nichts",
        ),
        (
            "slow_link_under_load", "explained", "Lane 3, what the card receives",
            "Leitungspaar 3, was die Karte empfängt",
        ),
        ("falls_off_bus", "explained", "leaves the bus", "verschwindet vom Bus"),
    ],
)  # fmt: skip
def test_a_record_is_explained(
    name: str, conclusion: str, words: str, worte: str, records: dict[str, Path]
) -> None:
    told = in_json(records[name])
    assert told["conclusion"] == conclusion
    assert words in told["headline"]
    explanation = explain_record(records[name])
    text = explanation_text(explanation)
    assert words in text
    assert text.startswith("SIMULATED")
    assert all(len(line) <= 96 for line in text.splitlines())
    german = explanation_text(explanation, "de")
    assert worte in " ".join(german.split())
    assert german.startswith("SIMULIERT")
    assert all(len(line) <= 96 for line in german.splitlines())


def test_json_holds_the_code_beside_every_sentence(records: dict[str, Path]) -> None:
    told = in_json(records["slow_link_under_load"])
    words = catalogue("en")
    assert told["because"] is None
    first = told["ranked"][0]
    ((claim,),) = first["claim_codes"]
    assert claim["code"] == Claim.LANE_ERRS_ABOVE.value
    assert (claim["which"], claim["speed_gts"]) == ({"code": "lane_one", "lane": 3}, 8.0)
    assert len(first["speaks_for_codes"]) == len(first["speaks_for"]) > 0
    for code, sentence in zip(first["speaks_for_codes"], first["speaks_for"], strict=True):
        assert words.say(Meaning.from_plain(code)) == sentence
    for step in told["steps"]:
        assert words.say(Meaning.from_plain(step["check"])) == step["text"]
        assert step["name"] != step["check"]["code"]
    assert in_json(records["healthy"])["because"] == {"code": "explain_nothing_to_explain"}


def test_the_contacts_of_a_named_lane_are_named(records: dict[str, Path]) -> None:
    told = in_json(records["slow_link_under_load"])
    group = told["ranked"][0]["groups"][0]
    assert group["names"] == ["B27", "B28"]
    assert group["cause"] == {"code": "fault_contact", "contacts": ["B27", "B28"]}
    assert told["ranked"][0]["speaks_for"]
    assert told["steps"]


def test_the_ticket_leads(records: dict[str, Path]) -> None:
    told = in_json(records["narrow_link"], "b54", "A20")
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
    with refused(BadInput, match="'B83': A1 to A82 and B1 to B82"):
        explain_record(records["healthy"], ["B83"])


def test_a_folder_that_is_no_record_is_refused(tmp_path: Path) -> None:
    with refused(RecordError, match=r"run\.json"):
        explain_record(tmp_path)


def test_without_a_link_stage_it_cannot_tell(tmp_path: Path) -> None:
    explanation = explain_record(tables(run_json(tmp_path)))
    assert explanation.because == Conclusion.NO_LINK_STAGE()
    assert explanation_text(explanation).startswith(
        "Cannot tell: the record holds no link stage"
    )


def test_a_card_that_never_came_up_is_explained(tmp_path: Path) -> None:
    run_json(tmp_path, card_absent=reason_json(RunReason.NOTHING_ENUMERATED()))
    explanation = explain_record(tables(tmp_path), ["A11"])
    assert explanation.ranked[0].claim == ((Claim.NOT_UP(),),)
    told = json.loads(explanation_json(explanation))
    assert told["headline"].startswith("The card does not start: the reset line: A11")
    assert told["ranked"][0]["groups"][0]["names"] == ["A11"]


@pytest.mark.parametrize(
    ("name", "errors", "probability"),
    # Real cards that were sound; two counted errors at the end of the card once each.
    [
        ("compute_card_cuda", (10, 0), 0.79),
        ("compute_card_link_errors", (0, 11), 0.61),
        ("compute_card_vulkan", (0, 0), 0.986),
    ],
)
def test_a_record_of_format_1_of_a_sound_card_is_explained(
    name: str, errors: tuple[int, int], probability: float, data: Path
) -> None:
    explanation = explain_record(data / "records" / name)
    assert explanation.answer is Answer.NOTHING_TO_EXPLAIN
    looks = explanation.evidence.looks
    assert tuple(look.errors[0] for look in looks) == errors
    for seen in looks:
        assert (seen.width, seen.generation, seen.errors[1], seen.lanes) == (
            16, 5, None, (None, None),
        )  # fmt: skip
    assert explanation.ranked[0].probability == pytest.approx(probability, abs=0.01)


def test_what_nothing_predicts_it_does_not_explain() -> None:
    odd = look(
        width=4, generation=1, top_generation=4, errors=(0, 900),
        lanes=(frozenset({1, 5, 11}), frozenset({14})),
    )  # fmt: skip
    explained = explain_evidence(Evidence((odd, look(warm=True, width=2))))
    assert explained.answer is Answer.CANNOT_TELL
    assert explained.because == Conclusion.NOTHING_SHOWS_SO()


def test_where_no_explanation_is_probable_it_says_so() -> None:
    # A few errors at both ends and no lane register: either side, a riser, or mere chance.
    vague = look(errors=(3, 2), lanes=(None, None), managed=None)
    explained = explain_evidence(Evidence((vague,)))
    assert explained.answer is Answer.CANNOT_TELL
    assert explained.because is not None
    assert explained.because.means(Conclusion.NOTHING_PROBABLE)
    assert explained.ranked[0].probability < 0.5
    assert len(explained.ranked) >= 3


@pytest.mark.long
def test_a_class_of_several_kinds_names_them() -> None:
    unread = {"errors": (None, None), "lanes": (None, None), "managed": None}
    slow = look(generation=3, top_generation=3, **unread)
    claim = explain_evidence(Evidence((slow,))).ranked[0].claim
    assert (Claim.HOST_HOLDS_SPEED(speed_gts=8.0),) in claim
    sentence = claim_sentence(claim, catalogue("en")).lower()
    assert "the host's set-up holds the link at 8 gt/s" in sentence
    assert "one of lanes 0 to 15, either way, holds no more than 8 gt/s" in sentence


def test_evidence_for_and_against_is_told() -> None:
    explained = explain_evidence(Evidence((lane_three(errors=(2, 1)),)))
    ranked = explained.ranked[0]
    bits = Seen.ERROR_BITS(end=DiagnosisTerm.CARD(), lanes=(3,))
    assert Seen.AT(stage="3-link", warm=None, seen=bits) in [r["seen"] for r in ranked.speaks_for]
    assert all(reason.means(Weight.SPEAKS_FOR) for reason in ranked.speaks_for)
    assert all(reason.means(Weight.SPEAKS_AGAINST) for reason in ranked.against)
    for reason in ranked.speaks_for:
        assert float(str(reason["expected_pct"])) > float(str(reason["otherwise_pct"]))
    for reason in ranked.against:
        assert float(str(reason["expected_pct"])) < float(str(reason["otherwise_pct"]))
