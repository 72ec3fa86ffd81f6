"""The explanation of a record in words: for a person to read, or as JSON.

The diagnosis hands over causes, checks and reasons as codes; their sentences are made here, in any
language of the catalogue.
"""

from __future__ import annotations

import json
import textwrap
from collections.abc import Sequence
from functools import reduce

from burnin.core.meaning import Cause, Meaning, Term, TermCode
from burnin.core.plain import plain
from burnin.diagnosis.claims import Alternatives, SuspectGroup
from burnin.diagnosis.evidence import LinkLook
from burnin.diagnosis.explanation import Answer, Explanation, Ranked
from burnin.diagnosis.meanings import NextCheck
from burnin.diagnosis.next_step import Step
from burnin.diagnosis.outputs.faults import OutputSuspect, next_at_output
from burnin.diagnosis.parts.of_record import Part
from burnin.diagnosis.seen import look_notes
from burnin.report.languages.catalogue import Catalogue, catalogue

_WIDTH = 96
_MUCH_BITS, _SOME_BITS = 0.5, 0.15
"""From how many expected bits on a step tells much, or something: halving the open cases is one
bit."""


class ExplanationTerm(TermCode):
    """What frames the sentences of an explanation."""

    SIMULATED = "explanation_simulated"
    TICKET_LISTS = "explanation_ticket_lists", "contacts"
    LOOK = "explanation_look", "stage", "seen"
    WARM_LOOK = "explanation_warm_look", "stage", "seen"
    HOW_MANY = "explanation_how_many", "one", "two"
    SHARE = "explanation_share", "share"
    EACH = "explanation_each", "cause", "share"
    SURE = "explanation_sure"
    PERCENT = "explanation_percent", "percent"
    SPEAKS_FOR = "explanation_speaks_for"
    SPEAKS_AGAINST = "explanation_speaks_against"
    OR = "explanation_or", "first", "other"
    AND = "explanation_and", "first", "other"
    PART = "explanation_part", "part"
    RULE = "explanation_rule", "rule"
    OUTPUT_ALONE = "explanation_output_alone", "output"
    AT_CONTACTS = "explanation_at_contacts", "cause", "contacts"
    NEXT = "explanation_next", "check"
    FAILED_ELSEWHERE = "explanation_failed_elsewhere"
    NEXT_STEPS = "explanation_next_steps"
    STEP = "explanation_step", "check", "minutes", "tells"
    MUCH = "explanation_tells_much"
    SOME = "explanation_tells_some"
    LITTLE = "explanation_tells_little"
    WHAT_SHARES_ARE = "explanation_what_shares_are"


def explanation_text(explanation: Explanation, language: str = "en") -> str:
    """The explanation for a terminal, no line wider than 96; raises BadInput for a language."""
    page = _Page(catalogue(language))
    page.head(explanation)
    for look in explanation.evidence.looks:
        page.look(look)
    if explanation.ranked:
        page.begin(ExplanationTerm.WHAT_SHARES_ARE())
    for number, ranked in enumerate(explanation.ranked, start=1):
        page.ranked(number, ranked)
    page.outputs(explanation.outputs)
    for part in explanation.parts:
        page.part(part)
    if explanation.evidence.elsewhere:
        page.begin(ExplanationTerm.FAILED_ELSEWHERE())
        for reason in explanation.evidence.elsewhere:
            page.say(reason, 2, "- ")
        for stage, why in explanation.evidence.deciding:
            page.say(f"{stage}: {page.words.say(why)}.", 2, "- ")
    if explanation.steps:
        page.begin(ExplanationTerm.NEXT_STEPS())
        for step in explanation.steps:
            page.say(
                ExplanationTerm.STEP(check=step.check, minutes=step.minutes, tells=_tells(step)),
                2,
                "- ",
            )
    elif explanation.answer is Answer.NOTHING_TO_EXPLAIN:
        page.lines.append("")
        page.say(NextCheck.METER_WHAT_LINK_HIDES())
    return "\n".join(page.lines) + "\n"


def explanation_json(explanation: Explanation, language: str = "en") -> str:
    """All of it for a machine to read: sentences, and beside each its code with data."""
    words = catalogue(language)
    evidence = explanation.evidence
    content = {
        "conclusion": explanation.answer.value,
        "headline": headline(explanation, words),
        "because": plain(explanation.because),
        "made_up": plain(explanation.made_up),
        "evidence": {
            "looks": [_look_in_json(look, words) for look in evidence.looks],
            "absent": evidence.absent,
            "lost": evidence.lost,
            "known_good": [_look_in_json(look, words) for look in evidence.known_good],
            "measured": plain(evidence.measured),
            "simulated": evidence.simulated,
            "outputs": plain(evidence.outputs),
            "elsewhere": [words.say(reason) for reason in evidence.elsewhere],
            "elsewhere_codes": plain(evidence.elsewhere),
            "deciding": [{"stage": stage, "why": plain(why)} for stage, why in evidence.deciding],
        },
        "damaged": list(explanation.damaged),
        "ranked": [_ranked_in_json(ranked, words) for ranked in explanation.ranked],
        "steps": [_step_in_json(step, words) for step in explanation.steps],
        "outputs": [
            {
                "output": suspect.output,
                "what": words.say(suspect.cause),
                "cause": suspect.cause.as_plain(),
                "contacts": list(suspect.contacts),
                "probability": suspect.probability,
            }
            for suspect in explanation.outputs
        ],
        "parts": [_part_in_json(part, words) for part in explanation.parts],
    }
    return json.dumps(content, indent=1, ensure_ascii=False)


def claim_sentence(claim: Alternatives, words: Catalogue) -> str:
    """What is claimed, as a sentence: its alternatives, each with all that holds together."""
    together = [_joined(ExplanationTerm.AND, causes) for causes in claim]
    text = words.say(_joined(ExplanationTerm.OR, [t for t in together if t is not None]))
    return f"{text[:1].upper()}{text[1:]}."


def _joined(code: ExplanationTerm, parts: Sequence[Meaning]) -> Meaning | None:
    """Several meanings as one, joined two by two; None for none."""
    if not parts:
        return None
    return reduce(lambda first, other: code(first=first, other=other), parts)


def headline(explanation: Explanation, words: Catalogue) -> str:
    """The answer as a sentence."""
    if explanation.because is not None:
        return words.say(explanation.because)
    return claim_sentence(explanation.ranked[0].claim, words)


def surely(probability: float) -> Term:
    """A probability in per cent that never claims more than it can."""
    if probability > 0.99:
        return ExplanationTerm.SURE()
    return ExplanationTerm.PERCENT(percent=100.0 * probability)


class _Page:
    """Lines that are filled one after the other."""

    def __init__(self, words: Catalogue) -> None:
        self.words = words
        self.lines: list[str] = []

    def say(self, what: Meaning | str, indent: int = 0, mark: str = "") -> None:
        """A sentence, wrapped; `mark` stands before it, and what follows lines up behind it."""
        text = what if isinstance(what, str) else self.words.say(what)
        first = " " * indent + mark
        self.lines += textwrap.wrap(
            text, _WIDTH, initial_indent=first, subsequent_indent=" " * len(first),
            break_on_hyphens=False,
        )  # fmt: skip

    def begin(self, what: Meaning) -> None:
        """A part with its title."""
        self.lines += ["", self.words.say(what)]

    def head(self, explanation: Explanation) -> None:
        """What it comes to."""
        if explanation.evidence.simulated:
            self.say(ExplanationTerm.SIMULATED())
        self.say(headline(explanation, self.words))
        if explanation.damaged:
            self.say(ExplanationTerm.TICKET_LISTS(contacts=explanation.damaged))
        if explanation.evidence.looks:
            self.lines.append("")

    def look(self, look: LinkLook) -> None:
        """What one link stage saw."""
        code = ExplanationTerm.WARM_LOOK if look.warm else ExplanationTerm.LOOK
        self.say(code(stage=look.stage, seen=look_notes(look)))
        if look.offers:
            self.say(self.words.says(look.offers), 4)

    def ranked(self, number: int, ranked: Ranked) -> None:
        """One candidate with what belongs to it."""
        self.lines.append("")
        sure = self.words.say(surely(ranked.probability))
        self.say(claim_sentence(ranked.claim, self.words), 0, f"{number}. {sure:>6}  ")
        if ranked.groups:
            one, two = surely(ranked.one_fault), surely(ranked.two_faults)
            self.say(ExplanationTerm.HOW_MANY(one=one, two=two), 11)
        for group in ranked.groups:
            share = self.words.say(ExplanationTerm.SHARE(share=group.probability))
            self.say(_with_share(group), 11, f"{share:>6} ")
        for title, reasons in (
            (ExplanationTerm.SPEAKS_FOR(), ranked.speaks_for),
            (ExplanationTerm.SPEAKS_AGAINST(), ranked.against),
        ):
            for reason in reasons:
                self.say(reason, 11, f"{self.words.say(title)}: ")

    def part(self, part: Part) -> None:
        """What failed beside the link: its causes and what failing words have in common."""
        self.begin(ExplanationTerm.PART(part=part.kind.term))
        for cause, probability in part.causes:
            sure = self.words.say(surely(probability))
            self.say(cause, 4, f"{sure:>6}  ")
        for rule in part.rule:
            self.say(ExplanationTerm.RULE(rule=rule), 4)

    def outputs(self, suspects: Sequence[OutputSuspect]) -> None:
        """Each output that is not sound, by itself."""
        for name in dict.fromkeys(suspect.output for suspect in suspects):
            self.begin(ExplanationTerm.OUTPUT_ALONE(output=name))
            here = [suspect for suspect in suspects if suspect.output == name]
            for suspect in here:
                sure = self.words.say(surely(suspect.probability))
                self.say(_at_contacts(suspect.cause, suspect.contacts), 4, f"{sure:>6}  ")
            check = next_at_output(here)
            if check is not None:
                self.say(ExplanationTerm.NEXT(check=check), 4)


def _tells(step: Step) -> Term:
    """How much a step is expected to decide, in words; the bits are in the JSON."""
    if step.bits >= _MUCH_BITS:
        return ExplanationTerm.MUCH()
    return ExplanationTerm.SOME() if step.bits >= _SOME_BITS else ExplanationTerm.LITTLE()


def _with_share(group: SuspectGroup) -> Meaning:
    if len(group.names) < 2:
        return group.cause
    return ExplanationTerm.EACH(cause=group.cause, share=group.each)


def _at_contacts(cause: Cause, contacts: tuple[str, ...]) -> Meaning:
    if not contacts:
        return cause
    return ExplanationTerm.AT_CONTACTS(cause=cause, contacts=contacts)


def _look_in_json(look: LinkLook, words: Catalogue) -> dict[str, object]:
    lanes = [None if found is None else sorted(found) for found in look.lanes]
    ends = {"stuck": look.stuck, "of_bench": look.of_bench}
    before = {name: [sorted(lanes) for lanes in by_end] for name, by_end in ends.items()}
    plainly = {k: plain(v) for k, v in vars(look).items() if k != "lanes" and k not in before}
    offers = {"offers": words.says(look.offers), "offers_codes": plain(look.offers)}
    return plainly | {"lanes": lanes} | before | offers


def _part_in_json(part: Part, words: Catalogue) -> dict[str, object]:
    causes = [
        {"what": words.say(cause), "cause": cause.as_plain(), "probability": probability}
        for cause, probability in part.causes
    ]
    rule = {"rule": [words.say(term) for term in part.rule], "rule_codes": plain(part.rule)}
    return {"part": part.kind.value, "stages": list(part.stages), "causes": causes} | rule


def _ranked_in_json(ranked: Ranked, words: Catalogue) -> dict[str, object]:
    return {
        "claim": claim_sentence(ranked.claim, words),
        "claim_codes": plain(ranked.claim),
        "probability": ranked.probability,
        "one_fault": ranked.one_fault,
        "two_faults": ranked.two_faults,
        "groups": plain(ranked.groups),
        "speaks_for": [words.say(reason) for reason in ranked.speaks_for],
        "speaks_for_codes": plain(ranked.speaks_for),
        "against": [words.say(reason) for reason in ranked.against],
        "against_codes": plain(ranked.against),
    }


def _step_in_json(step: Step, words: Catalogue) -> dict[str, object]:
    return {
        "name": words.word(step.check.code),
        "text": words.say(step.check),
        "check": step.check.as_plain(),
        "minutes": step.minutes,
        "bits": step.bits,
    }
