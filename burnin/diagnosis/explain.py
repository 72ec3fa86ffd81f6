"""A record explained from itself alone: from its evidence to a typed explanation."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from burnin.connector.contact_map import contacts
from burnin.core.errors import BadInput, RecordError
from burnin.core.meaning import Reason
from burnin.diagnosis.candidates import Candidate
from burnin.diagnosis.claims import claim_of, for_and_against, groups_of
from burnin.diagnosis.evidence import Evidence
from burnin.diagnosis.explanation import Answer, Explanation, Ranked
from burnin.diagnosis.meanings import Conclusion
from burnin.diagnosis.measured import NOTHING_TRIED, After
from burnin.diagnosis.next_step import next_steps
from burnin.diagnosis.outputs.faults import OutputSuspect, explain_outputs
from burnin.diagnosis.parts.of_record import Part, PartKind, parts_of
from burnin.diagnosis.posterior import Posterior
from burnin.diagnosis.record_evidence import evidence_of
from burnin.diagnosis.several_records import of_several
from burnin.diagnosis.start.told_start import causes_of_no_start
from burnin.record.reader import read_record

TOLD_FROM = 0.5
"""A candidate less probable than this is not told as the answer."""
_ACCOUNTS_FROM = 1e-9
"""Below this probability of the record no hypothesis accounts for it."""
_LISTED, _LISTED_FROM = 4, 0.02
_MOST_FOR, _MOST_AGAINST = 5, 4


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
        parts = parts_of(record) or parts
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
    started = explanation.parts
    told = {stage for part in parts for stage in part.stages}
    left = tuple(reason for reason in explanation.evidence.elsewhere if reason["stage"] not in told)
    found = replace(
        explanation,
        parts=(*started, *parts),
        evidence=replace(explanation.evidence, elsewhere=left),
    )
    links_own = explanation.because is None or bool(started)
    if links_own:
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
            raise BadInput(f"--ticket-damage: no contact {name!r}: A1 to A82 and B1 to B82")
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
        posterior = Posterior(evidence, listed)
    except ValueError as error:
        raise RecordError(f"cannot explain this record: {error}") from None
    candidates = posterior.candidates(_LISTED)
    told = [candidate for candidate in candidates if candidate.probability >= _LISTED_FROM]
    compared = [*told, posterior.nothing()]
    ranked = tuple(_ranked(posterior, candidate, compared) for candidate in told)
    answer, because = _conclude(posterior, candidates[0])
    no_start = causes_of_no_start(evidence, listed)
    parts = (Part(PartKind.START, (), no_start),) if no_start else ()
    if no_start and no_start[0][1] >= TOLD_FROM:
        cause, probability = no_start[0]
        because = Conclusion.DOES_NOT_START(cause=cause, probability=probability)
    sound = answer is Answer.NOTHING_TO_EXPLAIN
    steps = () if sound else tuple(next_steps(posterior))
    if sound and (outputs or evidence.elsewhere):
        answer = Answer.EXPLAINED if outputs or evidence.deciding else Answer.CANNOT_TELL
        because = _not_the_link(outputs, evidence)
    return Explanation(answer, because, evidence, listed, ranked, steps, outputs, parts)


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


def _ranked(posterior: Posterior, candidate: Candidate, others: Sequence[Candidate]) -> Ranked:
    speaks_for, against = for_and_against(posterior, candidate, others)
    members = posterior.members(candidate.number)
    nothing = candidate.number == posterior.nothing_class
    return Ranked(
        claim_of(posterior, candidate),
        candidate.probability,
        candidate.one_fault,
        candidate.two_faults,
        () if nothing else tuple(groups_of(members, candidate.probability)),
        tuple(speaks_for[:_MOST_FOR]),
        tuple(against[:_MOST_AGAINST]),
    )


def _conclude(posterior: Posterior, first: Candidate) -> tuple[Answer, Reason | None]:
    """The answer, and why; None where the first candidate's own claim says it."""
    if posterior.best_account() < _ACCOUNTS_FROM:
        return Answer.CANNOT_TELL, Conclusion.NOTHING_SHOWS_SO()
    if first.probability < TOLD_FROM:
        return Answer.CANNOT_TELL, Conclusion.NOTHING_PROBABLE(probability=first.probability)
    if first.number == posterior.nothing_class:
        return Answer.NOTHING_TO_EXPLAIN, Conclusion.NOTHING_TO_EXPLAIN()
    return Answer.EXPLAINED, None
