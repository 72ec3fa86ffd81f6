"""A card that does not come up: its causes as they are told."""

from __future__ import annotations

from burnin.core.meaning import Meaning
from burnin.diagnosis.evidence import Evidence, Measured
from burnin.diagnosis.explain import explain_evidence
from burnin.diagnosis.explanation import Answer
from burnin.diagnosis.meanings import Conclusion, StartCause
from burnin.diagnosis.parts.of_record import PartKind
from burnin.diagnosis.seen_by_hand import evidence_seen
from burnin.diagnosis.start.told_start import causes_of_no_start
from burnin.report.explanation import explanation_text
from tests.diagnosis.looks import look


def first(evidence: Evidence, *damaged: str) -> Meaning:
    return causes_of_no_start(evidence, damaged)[0][0]


def test_a_card_that_came_up_has_none() -> None:
    assert causes_of_no_start(Evidence((look(),))) == ()


def test_a_meter_and_a_ticket_name_the_line() -> None:
    absent = Evidence((), absent=True)
    assert first(absent, "A13", "A14").means(StartCause.CLOCK)
    reset = Evidence((), absent=True, measured=(Measured("A11", "open"),))
    assert first(reset).means(StartCause.RESET)
    told = causes_of_no_start(absent)
    assert sum(probability for _, probability in told) <= 1.0
    assert [p for _, p in told] == sorted((p for _, p in told), reverse=True)


def test_what_keeps_it_from_starting_is_the_headline() -> None:
    found = explain_evidence(evidence_seen("beeps 3"), ["A13"])
    assert found.answer is Answer.EXPLAINED
    assert found.because is not None
    assert found.because.means(Conclusion.DOES_NOT_START)
    assert [part.kind for part in found.parts] == [PartKind.START]
    assert explanation_text(found).startswith("The card does not start: the reference clock")
    assert explanation_text(found, "de").startswith("Die Karte läuft nicht an: der Referenztakt")
