"""A record explained from itself alone: from its evidence to a typed explanation."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from burnin.connector.contact_map import contacts
from burnin.core.errors import BadInput, RecordError
from burnin.core.meaning import Reason
from burnin.diagnosis.by_hand.measured import NOTHING_TRIED, After
from burnin.diagnosis.by_hand.refusals import ByHandRefusal
from burnin.diagnosis.evidence import Evidence
from burnin.diagnosis.explanation import Answer, Explanation, Ranked
from burnin.diagnosis.meanings import OF_START, Conclusion
from burnin.diagnosis.next_step import Step, next_steps
from burnin.diagnosis.outputs.faults import OutputSuspect, explain_outputs
from burnin.diagnosis.parts.of_record import Part, PartKind, parts_of
from burnin.diagnosis.ranked import ranked_of
from burnin.diagnosis.record_evidence import evidence_of
from burnin.diagnosis.several_records import of_several
from burnin.diagnosis.start.next_at_start import next_at_start
from burnin.diagnosis.start.told_start import conclusion_of_start
from burnin.diagnosis.weighed import Weighed, weighed
from burnin.record.reader import read_record

TOLD_FROM = 0.5
"""A candidate less probable than this is not told as the answer."""
_ACCOUNTS_FROM = 1e-9
"""Below this probability of the record no hypothesis accounts for it."""
_MOST_STEPS = 3


def explain_record(
    folder: Path, damaged: Sequence[str] = (), after: After = NOTHING_TRIED
) -> Explanation:
    """A record's explanation; see `explain_records`."""
    return explain_records((folder,), damaged, after)


def explain_records(
    folders: Sequence[Path], damaged: Sequence[str] = (), after: After = NOTHING_TRIED
) -> Explanation:
    """The explanation of records of one card, oldest first.

    `damaged`: contacts that the ticket lists as damaged; `after`: what was tried since.
    Raises RecordError where the folder holds no record, BadInput for a contact or an output that
    there is not.
    """
    listed = check_contacts(damaged)
    runs: list[Evidence] = []
    made_up: list[Reason] = []
    parts: tuple[Part, ...] = ()
    for folder in folders:
        record = read_record(folder)
        made_up += record.condition.made_up
        runs.append(evidence_of(record))
        parts = parts_of(record, after.supply) or parts
        # The record's bytes and the tables of the link are never in memory together.
        del record
    evidence = after.added_to(of_several(runs))
    found = with_parts(explain_evidence(evidence, listed), parts)
    return replace(found, made_up=tuple(dict.fromkeys(made_up)))


def with_parts(explanation: Explanation, parts: tuple[Part, ...]) -> Explanation:
    """The explanation with what failed in memory and cooling, and what is left of failures that
    nothing here explains."""
    if not parts:
        return explanation
    told = {stage for part in parts for stage in part.stages}
    left = tuple(reason for reason in explanation.evidence.elsewhere if reason["stage"] not in told)
    found = replace(
        explanation,
        parts=parts,
        evidence=replace(explanation.evidence, elsewhere=left),
    )
    if explanation.because is None or explanation.because.means(*OF_START):
        return found
    first = parts[0]
    cause, probability = first.causes[0]
    because = (
        Conclusion.FOR_MOMENTS(cause=cause, probability=probability)
        if first.kind is PartKind.MOMENTS
        else Conclusion.IN_A_PART(part=first.kind.term, cause=cause, probability=probability)
    )
    return replace(found, answer=Answer.EXPLAINED, because=because)


def check_contacts(names: Sequence[str]) -> tuple[str, ...]:
    """Names of edge contacts in capitals; raises BadInput for one that there is not."""
    found = []
    for name in names:
        clean = name.strip().upper()
        if not clean:
            continue
        if clean not in contacts():
            raise BadInput(ByHandRefusal.NO_DAMAGED_CONTACT(text=name))
        found.append(clean)
    return tuple(dict.fromkeys(found))


def explain_evidence(evidence: Evidence, damaged: Sequence[str] = ()) -> Explanation:
    """Explain evidence; raises BadInput for an unknown contact, RecordError for two slots."""
    listed = check_contacts(damaged)
    outputs = explain_outputs(evidence.outputs)
    if not evidence.looks and not evidence.absent and not evidence.lost:
        why = Conclusion.NO_LINK_STAGE()
        return Explanation(Answer.CANNOT_TELL, why, evidence, listed, (), (), outputs)
    try:
        found = weighed(evidence, listed)
    except ValueError as error:
        raise RecordError(ByHandRefusal.TWO_SLOTS(words=str(error))) from None
    ranked = tuple(ranked_of(found, evidence))
    answer, because = _conclude(found, ranked[0], evidence)
    sound = answer is Answer.NOTHING_TO_EXPLAIN
    steps = () if sound else tuple(_steps(found, evidence))
    if sound and (outputs or evidence.elsewhere):
        answer = Answer.EXPLAINED if outputs or evidence.deciding else Answer.CANNOT_TELL
        because = _not_the_link(outputs, evidence)
    return Explanation(answer, because, evidence, listed, ranked, steps, outputs)


def _steps(found: Weighed, evidence: Evidence) -> list[Step]:
    """What tells most a minute of start and link, each kind of step once."""
    measured = [*(m.contact for m in evidence.measured), *(said.point for said in evidence.points)]
    steps = next_at_start(found.start, measured) if found.start else []
    if found.link is not None:
        steps += next_steps(found.link)
    best: dict[str, Step] = {}
    for step in sorted(steps, key=lambda step: -step.bits_a_minute):
        best.setdefault(step.check.code, step)
    return list(best.values())[:_MOST_STEPS]


def _not_the_link(outputs: Sequence[OutputSuspect], evidence: Evidence) -> Reason:
    if not outputs and evidence.deciding:
        stage, why = evidence.deciding[0]
        return Conclusion.OTHER_PARTIES(stage=stage, why=why)
    if not outputs:
        return Conclusion.NOT_THE_LINK()
    first = outputs[0]
    return Conclusion.AT_OUTPUT(
        output=first.output, cause=first.cause, probability=first.probability
    )


def _conclude(
    found: Weighed, first: Ranked, evidence: Evidence
) -> tuple[Answer, Reason | None]:
    """The answer, and why; None where the first candidate's own claim says it."""
    top = found.whole[0]
    if found.link is not None and found.link.best_account() < _ACCOUNTS_FROM:
        return Answer.CANNOT_TELL, Conclusion.NOTHING_SHOWS_SO()
    if first.probability < TOLD_FROM:
        return Answer.CANNOT_TELL, Conclusion.NOTHING_PROBABLE(probability=first.probability)
    if found.is_sound(top):
        return Answer.NOTHING_TO_EXPLAIN, Conclusion.NOTHING_TO_EXPLAIN()
    if top.start is None or top.start.nothing or not first.groups:
        return Answer.EXPLAINED, None
    likely = first.groups[0]
    if likely.probability < TOLD_FROM or found.link_shows(top):
        return Answer.EXPLAINED, None
    return Answer.EXPLAINED, conclusion_of_start(evidence, likely.cause, likely.probability)
